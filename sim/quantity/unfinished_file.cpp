#include "quantity/unfinished_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <system_error>

#include "quantity/error.h"

namespace circumfluence::quantity {
namespace {

std::atomic<unsigned> files_begun{0};

std::string system_words(int error) {
  return std::generic_category().message(error);
}

std::string resolve(const std::string& target) {
  std::error_code ignored;  // whatever is wrong shows when the file is created
  const std::filesystem::path path(target);
  if (!std::filesystem::is_symlink(path, ignored)) return target;
  const std::filesystem::path real = std::filesystem::weakly_canonical(path, ignored);
  return real.empty() ? target : real.string();
}

// Exchanging the names, then removing the old file, is as atomic for readers as renaming over it, and several
// times faster for large files: ext4 answers a rename over an existing file by writing all data out at once.
bool put_in_place(const std::string& from, const std::string& to) {
#ifdef RENAME_EXCHANGE
  if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_EXCHANGE) == 0) {
    ::unlink(from.c_str());
    return true;
  }
#endif
  return std::rename(from.c_str(), to.c_str()) == 0;  // no old file, or a file system that cannot exchange
}

}  // namespace

UnfinishedFile::UnfinishedFile(const std::string& target) : target_(resolve(target)) {
  std::error_code ignored;
  const auto status = std::filesystem::status(target_, ignored);
  if (std::filesystem::exists(status) && !std::filesystem::is_regular_file(status))
    throw FileError(target_, "cannot write (it exists and is no regular file)");
  do {  // a name left by a killed process of the same number is passed over
    temporary_ = fmt::format("{}.{}-{}.tmp", target_, getpid(), files_begun++);
    descriptor_ = ::open(temporary_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  } while (descriptor_ < 0 && errno == EEXIST);
  if (descriptor_ < 0) throw FileError(target_, "cannot write (" + system_words(errno) + ")");
}

UnfinishedFile::~UnfinishedFile() {
  if (descriptor_ < 0) return;
  ::unlink(temporary_.c_str());
  ::close(descriptor_);
}

void UnfinishedFile::expect_room(std::uint64_t bytes) const {
  struct statvfs disk {};
  if (::fstatvfs(descriptor_, &disk) != 0 || disk.f_blocks == 0) return;
  const std::uint64_t room = std::uint64_t{disk.f_bavail} * disk.f_frsize;
  if (room < bytes)
    throw FileError(target_,
                              fmt::format("cannot write (needs {:.1f} MB, the disk has {:.1f} MB left). "
                                          "Make room or choose a coarser grid",
                                          double(bytes) * 1e-6, double(room) * 1e-6));
}

void UnfinishedFile::reserve(std::uint64_t bytes) const {
  int result = 0;
  do {
    result = ::fallocate(descriptor_, FALLOC_FL_KEEP_SIZE, 0, off_t(bytes));
  } while (result != 0 && errno == EINTR);
  if (result != 0 && (errno == ENOSPC || errno == EDQUOT || errno == EIO))
    throw FileError(target_, "cannot write (" + system_words(errno) + ")");
}

void UnfinishedFile::write_at(std::uint64_t offset, const void* data, std::size_t bytes) const {
  const char* at = static_cast<const char*>(data);
  while (bytes > 0) {
    const ssize_t done = ::pwrite(descriptor_, at, bytes, off_t(offset));
    if (done < 0 && errno == EINTR) continue;
    if (done <= 0)
      throw FileError(target_, "cannot write (" + system_words(done < 0 ? errno : ENOSPC) + ")");
    at += done;
    offset += std::uint64_t(done);
    bytes -= std::size_t(done);
  }
}

void UnfinishedFile::publish() {
  const int descriptor = descriptor_;
  descriptor_ = -1;
  // Network file systems report a full disk only here.
  const bool written = ::close(descriptor) == 0;
  if (written && put_in_place(temporary_, target_)) return;
  const std::string words = system_words(errno);
  ::unlink(temporary_.c_str());
  throw FileError(target_, "cannot write (" + words + ")");
}

void write_whole(const std::string& path, const void* data, std::size_t bytes) {
  UnfinishedFile file(path);
  file.expect_room(bytes);
  file.write_at(0, data, bytes);
  file.publish();
}

}  // namespace circumfluence::quantity

// A file that appears under its name only when it is complete.
//
// It is written under a name of its own in the target's folder ("bottle.h5.4711-0.tmp": process and a count,
// so writers never meet) and renamed over the target. Destroyed before that, it leaves nothing behind.
#pragma once

#include <cstdint>
#include <iterator>
#include <string>

namespace circumfluence::quantity {

class UnfinishedFile {
 public:
  // Throws FileError: no such folder, not writable, the target is a folder or a device. A symbolic link is
  // followed, so that the file it names is replaced, not the link.
  explicit UnfinishedFile(const std::string& target);
  ~UnfinishedFile();
  UnfinishedFile(const UnfinishedFile&) = delete;
  UnfinishedFile& operator=(const UnfinishedFile&) = delete;

  // Throws FileError when the disk is known to hold less than `bytes`; a file system that doesn't say passes.
  void expect_room(std::uint64_t bytes) const;

  // Makes sure that what is still to be written below `bytes` finds room, where the file system can promise
  // that.
  void reserve(std::uint64_t bytes) const;

  // Safe from several threads. FileError with the system's words (disk full).
  void write_at(std::uint64_t offset, const void* data, std::size_t bytes) const;

  // Takes the target's name. The data is left to the system's write-back: a reader sees the old file or the
  // whole new one, but a power cut in the following seconds may cost both.
  void publish();

  const std::string& temporary() const { return temporary_; }

 private:
  std::string target_;
  std::string temporary_;
  int descriptor_ = -1;
};

// A file of these bytes, whole or as it was before. Throws FileError.
void write_whole(const std::string& path, const void* data, std::size_t bytes);
template <class Bytes>
void write_whole(const std::string& path, const Bytes& bytes) {
  static_assert(sizeof(*std::data(bytes)) == 1);
  write_whole(path, std::data(bytes), std::size(bytes));
}

}  // namespace circumfluence::quantity

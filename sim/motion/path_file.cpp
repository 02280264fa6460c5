// A path from disk in large blocks, line by line to the reader.
#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <system_error>
#include <vector>

#include "motion/path_reader.h"
#include "quantity/error.h"

namespace circumfluence::motion {
namespace {

constexpr size_t kBlock = size_t(1) << 20;  // [B]

class OpenFile {
 public:
  explicit OpenFile(const std::string& path)
      : path_(path), descriptor_(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK)) {
    struct stat status {};
    if (descriptor_ < 0 || ::fstat(descriptor_, &status) != 0) fail();
    if (!S_ISREG(status.st_mode)) {
      ::close(descriptor_);
      throw quantity::FileError(path, "cannot read (it is no regular file)");
    }
    size_ = status.st_size;
  }
  ~OpenFile() { ::close(descriptor_); }
  OpenFile(const OpenFile&) = delete;
  OpenFile& operator=(const OpenFile&) = delete;

  std::int64_t size() const { return size_; }

  // [B] read, 0 at the end.
  size_t read(char* to, size_t most) const {
    for (;;) {
      const ssize_t got = ::read(descriptor_, to, most);
      if (got >= 0) return static_cast<size_t>(got);
      if (errno != EINTR) fail();
    }
  }

 private:
  [[noreturn]] void fail() const {
    const std::string words = std::generic_category().message(errno);
    throw quantity::FileError(path_, "cannot read (" + words + ")");
  }

  const std::string& path_;
  int descriptor_;
  std::int64_t size_ = 0;
};

// Gives the whole lines of `text` to the reader; [B] used. `more` turns false when the reader wants none.
size_t feed(PathReader& reader, std::string_view text, bool& more) {
  const char* at = text.data();
  const char* const end = at + text.size();
  while (more && at < end) {
    const auto* stop = static_cast<const char*>(std::memchr(at, '\n', static_cast<size_t>(end - at)));
    if (!stop) break;
    more = reader.line({at, static_cast<size_t>(stop - at)}, stop + 1 - at);
    at = stop + 1;
  }
  return static_cast<size_t>(at - text.data());
}

void feed_rest(PathReader& reader, std::string_view text) {
  if (!text.empty()) reader.line(text, static_cast<std::int64_t>(text.size()));
}

}  // namespace

PathNotes read_path(const std::string& path, const PathFile& how, const TakeMove& take,
                    const quantity::Progress& progress) {
  const OpenFile file(path);
  if (file.size() > kMostPathBytes)
    throw quantity::FileError(
        path, fmt::format("{:.1f} GiB (a path holds at most {} GiB)",
                          static_cast<double>(file.size()) / (1 << 30), kMostPathBytes >> 30));
  PathReader reader(path, how, take);
  std::vector<char> buffer(kBlock + static_cast<size_t>(kMostLineBytes) + 1);
  size_t kept = 0;
  std::int64_t done = 0;
  for (bool more = true; more;) {
    const size_t got = file.read(buffer.data() + kept, kBlock);
    const std::string_view text(buffer.data(), kept + got);
    const size_t used = got ? feed(reader, text, more) : 0;
    kept = text.size() - used;
    if (more && (got == 0 || kept > static_cast<size_t>(kMostLineBytes))) {  // the last line, or one too long
      feed_rest(reader, text.substr(used));
      break;
    }
    std::copy(text.begin() + static_cast<std::ptrdiff_t>(used), text.end(), buffer.begin());
    done += static_cast<std::int64_t>(got);
    const double share = file.size() > 0 ? static_cast<double>(done) / static_cast<double>(file.size()) : 1;
    if (progress && !progress(std::min(1.0, share))) throw quantity::Interrupted();
  }
  return reader.finish();
}

PathNotes parse_path(std::string_view text, const std::string& name, const PathFile& how,
                     const TakeMove& take) {
  PathReader reader(name, how, take);
  bool more = true;
  const size_t used = feed(reader, text, more);
  if (more) feed_rest(reader, text.substr(used));
  return reader.finish();
}

}  // namespace circumfluence::motion

// The last picture, kept between predictions of the same job with other settings.
#include <filesystem>
#include <mutex>

#include "artwork/image.h"

namespace circumfluence::artwork {

Image read_image_again(const std::string& path) {
  namespace fs = std::filesystem;
  struct Kept {
    std::string path;
    fs::file_time_type time;
    std::uintmax_t size = 0;
    Image image;
  };
  static std::mutex mutex;
  static Kept kept;
  const std::scoped_lock lock(mutex);
  std::error_code trouble;
  const fs::file_time_type time = fs::last_write_time(path, trouble);
  const std::uintmax_t size = trouble ? 0 : fs::file_size(path, trouble);
  if (!trouble && kept.path == path && kept.time == time && kept.size == size) return kept.image;
  Image image = read_image(path);
  if (!trouble && image.tone.size() <= 16'000'000) kept = {path, time, size, image};
  return image;
}

}  // namespace circumfluence::artwork

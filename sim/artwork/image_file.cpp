// Picture files, read from disk: what is too large or of another kind is refused before it is read.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>

#include "artwork/image.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using quantity::FileError;

// The whole file, once its first bytes are those of a picture.
std::vector<std::uint8_t> read_bytes(const std::string& path) {
  namespace fs = std::filesystem;
  std::error_code trouble;
  const fs::file_status status = fs::status(path, trouble);
  if (status.type() == fs::file_type::not_found) throw FileError(path, "there is no such file");
  if (fs::is_directory(status)) throw FileError(path, "a folder (expected a PNG or JPEG picture)");
  if (!fs::is_regular_file(status))
    throw FileError(path, "not an ordinary file (expected a PNG or JPEG picture)");
  const auto size =
      static_cast<long>(std::min<std::uintmax_t>(fs::file_size(path, trouble), kMostFileBytes + 1));
  if (trouble) throw FileError(path, fmt::format("cannot be read ({})", trouble.message()));
  if (size > kMostFileBytes)
    throw FileError(path, fmt::format("too large a file (expected at most {} MiB)", kMostFileBytes >> 20));

  std::ifstream in(path, std::ios::binary);
  if (!in) throw FileError(path, fmt::format("cannot be read ({})", std::strerror(errno)));
  std::vector<std::uint8_t> bytes(std::min<std::size_t>(8, size));
  const auto fill = [&](std::size_t from) {
    in.read(reinterpret_cast<char*>(bytes.data() + from), static_cast<std::streamsize>(bytes.size() - from));
    if (!in) throw FileError(path, "cannot be read to its end");
  };
  fill(0);
  kind_of(bytes, path);  // before a large file of another kind is read
  const std::size_t head = bytes.size();
  bytes.resize(size);
  fill(head);
  return bytes;
}

}  // namespace

FileKind kind_of(std::span<const std::uint8_t> head, const std::string& name) {
  static constexpr std::array<std::uint8_t, 8> kPng = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
  static constexpr std::array<std::uint8_t, 3> kJpeg = {0xff, 0xd8, 0xff};
  if (head.empty()) throw FileError(name, "the file is empty (expected a PNG or JPEG picture)");
  const auto starts_with = [&](std::span<const std::uint8_t> magic) {
    return head.size() >= magic.size() && std::equal(magic.begin(), magic.end(), head.begin());
  };
  if (starts_with(kPng)) return FileKind::png;
  if (starts_with(kJpeg)) return FileKind::jpeg;
  std::string start;
  for (const std::uint8_t byte : head.first(std::min<std::size_t>(4, head.size())))
    start += fmt::format(" {:02x}", byte);
  throw FileError(name, fmt::format("not a PNG or JPEG picture (it starts with{})", start));
}

Image read_image(const std::string& path) {
  return decode_image(read_bytes(path), path);
}

Colours read_colours(const std::string& path) {
  return decode_colours(read_bytes(path), path);
}

}  // namespace circumfluence::artwork

#include "quantity/error.h"

namespace circumfluence::quantity {
namespace {

std::string placed(const Place& place, const std::string& problem) {
  const std::string where = text(place);
  return where.empty() ? problem : where + ": " + problem;
}

}  // namespace

std::string text(const Place& place) {
  std::string out = place.file;
  if (place.line > 0) {
    out += (out.empty() ? "line " : ":") + std::to_string(place.line);
    if (place.column > 0) out += ":" + std::to_string(place.column);
  }
  return out;
}

JobError::JobError(const std::string& problem, Place where)
    : std::runtime_error(placed(where, problem)), place_(std::move(where)), problem_(problem) {}

FileError::FileError(const std::string& path, const std::string& problem)
    : std::runtime_error(path + ": " + problem) {}

}  // namespace circumfluence::quantity

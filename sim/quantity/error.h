// The four ways the library says no. Every message follows one grammar:
//   place: key = value (why; what was expected). Suggestion
#pragma once

#include <stdexcept>
#include <string>

namespace circumfluence::quantity {

// A spot in a text file; line and column count from 1, 0 means unknown.
struct Place {
  std::string file;
  int line = 0;
  int column = 0;
};

// "job.toml:14:9", "job.toml", or "" when nothing is known.
std::string text(const Place& place);

// Something in a job or material record is missing, malformed or out of bounds.
class JobError : public std::runtime_error {
 public:
  explicit JobError(const std::string& problem, Place where = {});
  const Place& place() const { return place_; }
  const std::string& problem() const { return problem_; }  // the message without its place

 private:
  Place place_;
  std::string problem_;
};

// A model is asked for something outside what it is valid for.
class ValidityError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

// A file cannot be read, written or trusted. The message starts with the path.
class FileError : public std::runtime_error {
 public:
  FileError(const std::string& path, const std::string& problem);
};

// The user asked to stop; no partial result is kept.
class Interrupted : public std::runtime_error {
 public:
  Interrupted() : std::runtime_error("interrupted") {}
};

}  // namespace circumfluence::quantity

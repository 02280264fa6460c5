// The program as its user runs it: from a shell, in a folder, what it printed and how it ended.
#pragma once

#include <sys/wait.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <string>

#include "mark/sample_map.h"

namespace circumfluence {

inline std::string content(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

struct Done {
  int code;
  std::string out, err;
};

// What a child with its output in `logs` came to.
inline Done done(int status, const mark::TestFolder& logs) {
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, content(logs.file("out")), content(logs.file("err"))};
}

// Where the program runs and leaves its output.
struct Shell {
  const mark::TestFolder& folder;
  const mark::TestFolder& logs;

  // `before`: shell words in front of the program's name.
  Done run(const std::string& arguments, const std::string& before = "") const {
    const std::string command = "cd '" + folder.path.string() + "' && " + before + "'" CIRCUMFLUENCE_PROGRAM "' " +
                                arguments + " >'" + logs.file("out") + "' 2>'" + logs.file("err") + "'";
    return done(std::system(command.c_str()), logs);
  }
};

}  // namespace circumfluence

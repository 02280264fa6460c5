// circumfluence formats job | mark
#include <fmt/format.h>

#include <memory>
#include <string>

#include "job/reference.h"
#include "mark/mark_file.h"
#include "program/commands.h"

namespace circumfluence::program {

void add_formats(CLI::App& app) {
  auto which = std::make_shared<std::string>();
  CLI::App* command = app.add_subcommand("formats", "Print the page that describes a file format (Markdown)");
  command->add_option("format", *which, "job: the job file; mark: the file of record")
      ->required()
      ->check(CLI::IsMember({"job", "mark"}));
  command->callback(
      [which] { fmt::print("{}", *which == "job" ? job::job_file_reference() : mark::mark_format_page()); });
}

}  // namespace circumfluence::program

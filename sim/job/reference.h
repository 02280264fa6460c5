// The page of the job file, made from the field tables.
#pragma once

#include <string>

namespace circumfluence::job {

// Markdown: a table a section with key, what is expected (unit, bounds, choices), default and meaning.
std::string job_file_reference();

}  // namespace circumfluence::job

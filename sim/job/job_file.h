// The job file: TOML, one table a section, quantities as strings with their unit.
//
// Every error names the key, its value, what was expected, line and column; an unknown key is refused with
// the nearest known one; a number without a unit is refused where a unit belongs.
#pragma once

#include <string>
#include <string_view>

#include "job/job.h"
#include "quantity/error.h"

namespace circumfluence::job {

// Throws FileError (cannot be read, larger than 4 MiB) or JobError.
Job read_job(const std::string& path);

// The same from memory; `name` stands in messages, relative paths start at `folder`.
Job parse_job(std::string_view text, const std::string& name = "job", const std::string& folder = ".");

// The error with its place in the job's file, found from the address that its message begins with. For what
// only shows when files are read and geometry is settled.
quantity::JobError placed(const Job& job, const quantity::JobError& error);

// The job as TOML: parse_job(write_job(job)) is the same job.
std::string write_job(const Job& job);

// Sets one parameter of a job in the making, by address; only that value is checked.
void assign(Job& job, std::string_view address, std::string_view value);
void assign(Job& job, std::string_view address, double si);
// The job with its text, after all checks.
Job completed(Job job);

// Copies of the job with one parameter altered, by address ("scan.power"): text with a unit ("60 %"), or an
// SI number (alternatives such as scan.power then mean their main unit, W). The copy's text is rewritten and
// all checks are made anew. Throws JobError.
Job replaced(const Job& job, std::string_view address, std::string_view value);
Job replaced(const Job& job, std::string_view address, double si);

// The value at an address as it would stand in a job file: "2500 mm/min".
std::string value_at(const Job& job, std::string_view address);

// Checks every section and how they fit together. Throws JobError.
void check(const Job& job);

}  // namespace circumfluence::job

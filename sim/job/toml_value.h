// Values of a TOML document, read strictly: every refusal names the key, the value as written, what was
// expected, and the place.
#pragma once

#include <toml++/toml.h>

#include <string>
#include <string_view>

#include "job/section_writer.h"
#include "quantity/error.h"
#include "quantity/field.h"

namespace circumfluence::job {

inline constexpr size_t kLargestFile = size_t{4} << 20;  // [byte]
inline constexpr double kWidestSpread = 10.0;            // [1] of a figure's logarithm

// Where a value stands and what is expected of it.
struct Spot {
  std::string address;   // "scan.power"
  std::string expected;  // "a power from 0 W to 5000 W"
  std::string file;      // empty: the value comes from no file, and messages have no place
};

// Throws JobError for everything that is not TOML, is larger than 4 MiB or nests absurdly deep.
toml::table parse_toml(std::string_view text, const std::string& file);

// The bytes of a regular file of up to 4 MiB. Throws FileError.
std::string read_text(const std::string& path);

quantity::Place place_of(const toml::source_region& region, const std::string& file);

// Where the address that a message starts with stands below `table`, or the table that should hold it; line 0
// when not even that is there.
quantity::Place place_in(const toml::table& table, std::string_view problem, const std::string& file);

// A node as a message shows it: long texts and tables are cut short.
std::string as_written(const toml::node& node);

// "a text", "a whole number", ...
std::string kind_of(const toml::node& node);

// Throws JobError `address = value (why; expected ...)` and the suggestion, which starts with ". ".
[[noreturn]] void refuse(const toml::node& node, const Spot& spot, const std::string& why,
                         const std::string& suggestion = "");

// True when the node is text that ends in a unit of the same dimension as `unit`.
bool has_dimension(const toml::node& node, std::string_view unit);

double read_quantity(const toml::node& node, const Spot& spot, const Range& range);
int read_whole(const toml::node& node, const Spot& spot, const Range& range);
bool read_bool(const toml::node& node, const Spot& spot);
std::string read_string(const toml::node& node, const Spot& spot);
int read_choice(const toml::node& node, const Spot& spot, std::string_view choices);
quantity::Pairs read_pairs(const toml::node& node, const Spot& spot, const Range& range);
quantity::Figure read_figure(const toml::node& node, const Spot& spot, const Range& range);

// Refuses the first key, in the order of the file, that is none of `known`. `section` is what the table is
// called; empty at the top of a file.
void refuse_unknown_keys(const toml::table& table, const std::vector<std::string>& known,
                         const std::string& section, const std::string& file);

}  // namespace circumfluence::job

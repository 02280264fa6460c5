// One row per parameter: its key, the member it sets, its unit, bounds and a line of help.
//
// Each section struct has one table of these, and from the table alone come the job reader and writer, the
// program's help, the page of the job file in docs/, Python's repr, and the addresses ("scan.power") by which
// a job is altered. Adding a parameter is one member, one row, one test.
#pragma once

#include <limits>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "quantity/figure.h"

namespace circumfluence::quantity {

inline constexpr double kInfinity = std::numeric_limits<double>::infinity();

// Positions and values along a line, such as axial position and diameter: SI, in file order.
using Pairs = std::vector<std::pair<double, double>>;

// An enumerated member, reached as the index of a word in Field::choices.
template <class Section>
struct Choice {
  int (*get)(const Section&);
  void (*set)(Section&, int);
};

// choice<&Scan::direction>()
template <auto Member>
struct ChoiceOf;
template <class Section, class Enum, Enum Section::*Member>
struct ChoiceOf<Member> {
  static Choice<Section> make() {
    return {[](const Section& s) { return static_cast<int>(s.*Member); },
            [](Section& s, int i) { s.*Member = static_cast<Enum>(i); }};
  }
};
template <auto Member>
auto choice() {
  return ChoiceOf<Member>::make();
}

template <class Section>
struct Field {
  using Member = std::variant<double Section::*, int Section::*, bool Section::*, std::string Section::*,
                              Pairs Section::*, Figure Section::*, Choice<Section>>;
  const char* key;
  Member member;
  const char* unit = "";    // for numbers; "1" accepts a bare number
  double low = -kInfinity;  // bounds in SI, both allowed
  double high = kInfinity;
  const char* help = "";
  bool required = true;      // when false, the struct's initial value stands (NaN: not given)
  const char* choices = "";  // the enumeration's words in order, separated by spaces
  // A second way to give the same thing, such as a power as a share of the rated one: exactly one is set.
  double Section::*alternative = nullptr;
  const char* alternative_unit = "";
  double alternative_high = kInfinity;  // its lower bound is 0
};

template <class Section>
using Fields = std::vector<Field<Section>>;

}  // namespace circumfluence::quantity

// The set-up sheet for a terminal, and for a script as one JSON object in SI units.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "mark/set_up.h"
#include "mark/verdict.h"
#include "quantity/constants.h"

namespace circumfluence::mark {
namespace {

constexpr const char* kNone = "null";
constexpr size_t kLabels = 20;  // columns of them

using Members = std::vector<std::pair<const char*, double>>;

std::string numbers(const Members& members) {
  std::string out;
  for (const auto& [key, value] : members)
    out += fmt::format("{}\"{}\": {}", out.empty() ? "" : ", ", key, json_number(value));
  return out;
}

std::string object(const Members& members) {
  return "{" + numbers(members) + "}";
}

std::string steps(const SetUp& sheet) {
  const motion::Rotary& rotary = sheet.job.rotary;
  const auto& s = sheet.turning->steps;
  Members members = {{"set", rotary.set_steps}, {"flat", rotary.flat_steps}};
  if (s)
    for (const auto& one : Members{{"a_turn", s->a_turn},
                                   {"exact", s->exact},
                                   {"stored", s->stored},
                                   {"travel", s->travel},
                                   {"smallest", s->smallest}})
      members.push_back(one);
  return object(members);
}

std::string turning(const SetUp& sheet) {
  const Turning& t = *sheet.turning;
  std::string out = fmt::format(R"({{"drive": "{}", {}, "steps": {})",
                                sheet.job.rotary.drive == motion::Drive::rollers ? "rollers" : "chuck",
                                numbers({{"driven", t.driven},
                                         {"here", t.here},
                                         {"circumference", quantity::kPi * t.driven},
                                         {"jogged", t.jogged}}),
                                steps(sheet));
  out += fmt::format(R"(, "seam": {})",
                     t.seam ? object({{"value", t.seam->sum.value}, {"spread", t.seam->sum.spread}}) : kNone);
  out += fmt::format(R"(, "seat": {})", t.seat ? object({{"contact", t.seat->contact},
                                                         {"above", t.seat->above},
                                                         {"tilt", t.seat->tilt},
                                                         {"walk", t.seat->walk}})
                                               : kNone);
  return out + "}";
}

std::string bands(const SetUp& sheet) {
  std::string out;
  for (const motion::Band& b : sheet.bands)
    out += (out.empty() ? "" : ", ") + object({{"from", b.from},
                                               {"to", b.to},
                                               {"radius", b.radius},
                                               {"scale_around", b.scale_around},
                                               {"around_from", b.around_from},
                                               {"around_to", b.around_to},
                                               {"scale_axial", b.scale_axial},
                                               {"level", b.level}});
  return "[" + out + "]";
}

std::string height(const SetUp& sheet) {
  const Stack& s = sheet.stack;
  return object({{"focus_at", sheet.focus_at},
                 {"axis", s.axis},
                 {"radius", s.radius},
                 {"surface", s.surface()},
                 {"focus", s.focus},
                 {"focus_offset", sheet.job.scan.focus_offset},
                 {"head", s.head},
                 {"raise", s.raise()},
                 {"clearance", s.clearance}});
}

std::string start(const SetUp& sheet) {
  if (!sheet.start) return kNone;
  const Start& s = *sheet.start;
  return object(
      {{"axial", s.axial}, {"around", s.around}, {"head_from", s.head_from}, {"head_to", s.head_to}});
}

std::string time(const SetUp& sheet) {
  if (!sheet.raster) return object({{"duration", sheet.duration}});
  const motion::Raster& r = *sheet.raster;
  return object({{"duration", r.duration},
                 {"lines", double(r.lines) * r.passes},
                 {"line", r.sweep.duration()},
                 {"turn_round", r.turn_round}});
}

std::string lands(const SetUp& sheet) {
  const auto rows = motion::letter(sheet.landing);
  return fmt::format(R"({{"mirrored": {}, "words": {}, "letter": {}}})", sheet.landing.mirrored,
                     json_text(motion::words(sheet.landing)), json_list({rows.begin(), rows.end()}));
}

std::string polarity(const SetUp& sheet) {
  if (!sheet.polarity) return kNone;
  const Polarity& p = *sheet.polarity;
  return fmt::format(R"({{{}, "inverts": {}}})",
                     numbers({{"ground", p.ground}, {"marked", p.marked}, {"difference", p.difference}}),
                     p.inverts);
}

std::string trial(const SetUp& sheet) {
  const TubeTrial& t = sheet.trial;
  const std::string tube = numbers({{"diameter", t.diameter}, {"wall", t.wall}});
  if (!t.job) return fmt::format(R"({{{}, "why": {}}})", tube, json_text(t.why));
  return fmt::format("{{{}, {}}}", tube,
                     numbers({{"power", t.power},
                              {"speed", t.speed},
                              {"marks", t.marks},
                              {"burns", t.burns},
                              {"duration", t.duration}}));
}

std::string lacking(const SetUp& sheet) {
  std::string out;
  for (const Lacking& one : sheet.lacking)
    out += fmt::format(R"({}{{"key": {}, "gives": {}}})", out.empty() ? "" : ", ", json_text(one.key),
                       json_text(one.gives));
  return "[" + out + "]";
}

void add_list(const char* title, const std::vector<std::string>& items, std::string& out) {
  out += fmt::format("\n{}\n", title);
  int number = 0;
  for (const std::string& item : items) out += fmt::format("  {:>2}  {}\n", ++number, item);
}

}  // namespace

std::string sheet_text(const SetUp& sheet) {
  std::string out;
  for (const Block& block : blocks(sheet)) {
    out += fmt::format("{}{}\n", out.empty() ? "" : "\n", block.title);
    for (const auto& [label, words] : block.rows) out += fmt::format("  {:<{}} {}\n", label, kLabels, words);
  }
  out += "\nThe letter F as it lands, seen from outside";
  out += sheet.landing.mouth == motion::End::unstated ? ", axial positions growing upward\n"
                                                      : " with the mouth up\n";
  for (const std::string& row : motion::letter(sheet.landing)) out += "  " + row + "\n";
  if (!sheet.looks.empty()) add_list("Look at the path", sheet.looks, out);
  add_list("In this order", sheet.checks, out);
  add_list("Mind", sheet.cautions, out);
  return out;
}

std::string sheet_json(const SetUp& sheet) {
  return fmt::format(
      R"({{"power": {}, "turning": {}, "bands": {}, "edge_stretch": {}, "height": {}, "start": {}, )"
      R"("time": {}, "lands": {}, "polarity": {}, "trial": {}, "looks": {}, "checks": {}, "cautions": {}, )"
      R"("lacking": {}}})"
      "\n",
      json_number(sheet.power), sheet.turning ? turning(sheet) : kNone, bands(sheet),
      json_number(sheet.edge_stretch), height(sheet), start(sheet), time(sheet), lands(sheet),
      polarity(sheet), trial(sheet), json_list(sheet.looks), json_list(sheet.checks),
      json_list(sheet.cautions), lacking(sheet));
}

}  // namespace circumfluence::mark

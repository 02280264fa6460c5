// The focus study as words for a person and as JSON for a script.
#include <fmt/format.h>

#include <cmath>

#include "quantity/unit.h"
#include "window/focus.h"

namespace circumfluence::window {
namespace {

using mark::chance_text;
using mark::json_number;
using quantity::format;

std::string line_of(const char* label, const std::string& words) {
  return fmt::format("{:<10} {}\n", label, words);
}

std::string where(double focus_offset) {
  if (focus_offset == 0) return "focus on the surface";
  return fmt::format("focus {} {} the surface", format(std::abs(focus_offset), "mm", 3),
                     focus_offset > 0 ? "above" : "below");
}

std::string spacing_text(double spacing) {
  const double step = std::pow(10.0, std::floor(std::log10(spacing)) - 2);
  return format(std::floor(spacing / step * (1 + 1e-9)) * step, "mm", 3);  // rounded to the side that closes
}

std::string watts(double power, double set) {
  if (std::isinf(power)) return "at no power";
  return fmt::format("from {} ({:.3g} times)", format(power, "W", 3), power / set);
}

std::string outcome(const Focus& focus) {
  const HeightRow& set = focus.set;
  return fmt::format("{} as set; marks {}, over-burns {}", mark::kRulingNames[int(set.ruling)],
                     watts(set.ends.marks, focus.power), watts(set.ends.burns, focus.power));
}

std::string spot(const HeightRow& row) {
  const std::string size = fmt::format("{} along the lines, {} across", format(2 * row.along, "um", 3),
                                       format(2 * row.across, "um", 3));
  if (!(row.width > 0)) return size + "; one line alone marks nothing";
  return fmt::format("{}; one line alone marks {}", size, format(row.width, "um", 3));
}

std::string fault_text(HeightFault fault) {
  return fault == HeightFault::too_little ? "marks too little" : "over-burns";
}

std::string end_text(double room, HeightFault fault, const char* side) {
  if (fault == HeightFault::range) return fmt::format("at least {} {}", format(room, "mm", 3), side);
  return fmt::format("{} {} (then it {})", format(room, "mm", 3), side, fault_text(fault));
}

std::string room_text(const HeightRoom& room) {
  if (!room.holds) return fmt::format("none: as set it {}", fault_text(room.lowest.fault));
  return fmt::format("the surface may lie {}, {}", end_text(room.down(), room.lowest.fault, "lower"),
                     end_text(room.up(), room.highest.fault, "higher"));
}

std::string likely_text(const Focus& focus) {
  const std::string chance = chance_text(focus.set.chances.good);
  if (!focus.likely.holds) return fmt::format("none: as set the chance of coming out good is {}", chance);
  return fmt::format("{}; as set the chance is {}", room_text(focus.likely), chance);
}

std::string moved(const Excursion& e) {
  const std::string down = format(e.down, "mm", 3), up = format(e.up, "mm", 3);
  if (down == up) return "+-" + up;
  return fmt::format("-{} +{}", down, up);
}

std::string moves_text(const Excursions& moves) {
  std::string out;
  const std::pair<const char*, const Excursion*> parts[] = {
      {"form", &moves.form}, {"run-out", &moves.runout}, {"ovality", &moves.ovality}, {"sag", &moves.sag}};
  for (const auto& [name, excursion] : parts)
    if (excursion->down > 0 || excursion->up > 0)
      out += fmt::format("{}{} {}", out.empty() ? "" : ", ", name, moved(*excursion));
  return out.empty() ? "nothing stated moves the surface"
                     : fmt::format("{}; in all {}", out, moved(moves.total));
}

std::string used_text(const HeightRoom& room, const Excursion& total) {
  const double share = used(room, total);
  if (std::isinf(share)) return "there is no room";
  const bool bounded = room.lowest.fault == HeightFault::range || room.highest.fault == HeightFault::range;
  return fmt::format("{}, uses up {}{}", share <= 1 ? "fits" : "does not fit",
                     share > 0 && bounded ? "at most " : "", format(share, "%", 3));
}

std::string rooms_text(const Focus& focus, const std::string& asked) {
  std::string out = line_of("tolerance", room_text(focus.nominal));
  if (focus.drawn) out += line_of(asked.c_str(), likely_text(focus));
  out += line_of("moves", moves_text(focus.moves));
  const Excursion& total = focus.moves.total;
  if (!(total.down > 0 || total.up > 0)) return out;
  std::string room = used_text(focus.nominal, total);
  if (focus.drawn) room += fmt::format("; {}: {}", asked, used_text(focus.likely, total));
  return out + line_of("room", room);
}

std::string coarsest_text(const Focus& focus, const std::string& asked) {
  const Coarsest& best = focus.coarsest;
  if (!(best.spacing > 0)) return line_of("coarsest", "no spacing closes at this power and speed");
  std::string words =
      fmt::format("lines {} apart with the {}", spacing_text(best.spacing), where(best.focus_offset));
  if (!std::isnan(best.other))
    words += fmt::format(" (scan.focus_offset = \"{}\" serves as well)", format(best.other, "mm", 3));
  words += fmt::format(": {} instead of {}; nothing is left in reserve there", mark::clock(best.duration),
                       mark::clock(focus.duration));
  std::string out = line_of("coarsest", words);
  if (!focus.drawn) return out;
  if (!(best.safe_spacing > 0)) return out + line_of(asked.c_str(), "no spacing at that focus");
  return out + line_of(asked.c_str(),
                       fmt::format("lines {} apart at that focus: {}", spacing_text(best.safe_spacing),
                                   mark::clock(best.safe_duration)));
}

template <class Get>
std::string column(const char* name, const std::vector<HeightRow>& rows, const Get& get) {
  std::string out = fmt::format("\"{}\": [", name);
  for (size_t i = 0; i < rows.size(); ++i) out += (i > 0 ? ", " : "") + get(rows[i]);
  return out + "]";
}

std::string columns(const Focus& focus) {
  std::string out;
  const auto put = [&](const char* name, const auto& get) {
    out += (out.empty() ? "" : ", ") +
           column(name, focus.rows, [&](const HeightRow& row) { return json_number(get(row)); });
  };
  put("height", [](const HeightRow& r) { return r.height; });
  put("along", [](const HeightRow& r) { return r.along; });
  put("across", [](const HeightRow& r) { return r.across; });
  put("width", [](const HeightRow& r) { return r.width; });
  put("begins", [](const HeightRow& r) { return r.ends.begins; });
  put("centre", [](const HeightRow& r) { return r.ends.centre; });
  put("marks", [](const HeightRow& r) { return r.ends.marks; });
  put("burns", [](const HeightRow& r) { return r.ends.burns; });
  put("spacing", [](const HeightRow& r) { return r.spacing; });
  if (focus.drawn) {
    put("chance_marks", [](const HeightRow& r) { return r.chances.marks; });
    put("chance_spares", [](const HeightRow& r) { return r.chances.spares; });
    put("chance_good", [](const HeightRow& r) { return r.chances.good; });
  }
  return out + ", " + column("ruling", focus.rows, [](const HeightRow& r) {
           return mark::json_text(mark::kRulingNames[int(r.ruling)]);
         });
}

std::string json_of(const HeightRoom& room, const Excursion& total) {
  return fmt::format(
      R"({{"holds": {}, "lowest": {}, "lowest_fault": "{}", "highest": {}, "highest_fault": "{}", "used": {}}})",
      room.holds, json_number(room.lowest.height), kHeightFaultNames[int(room.lowest.fault)],
      json_number(room.highest.height), kHeightFaultNames[int(room.highest.fault)],
      json_number(used(room, total)));
}

std::string json_of(const Excursion& e) {
  return fmt::format(R"({{"down": {}, "up": {}}})", json_number(e.down), json_number(e.up));
}

std::string json_of(const Excursions& e) {
  return fmt::format(R"({{"form": {}, "runout": {}, "ovality": {}, "sag": {}, "total": {}}})",
                     json_of(e.form), json_of(e.runout), json_of(e.ovality), json_of(e.sag),
                     json_of(e.total));
}

std::string json_of(const Coarsest& c) {
  return fmt::format(
      R"({{"focus_offset": {}, "other": {}, "spacing": {}, "duration": {}, "safe_spacing": {}, "safe_duration": {}, "at_the_end": {}}})",
      json_number(c.focus_offset), json_number(c.other), json_number(c.spacing), json_number(c.duration),
      json_number(c.safe_spacing), json_number(c.safe_duration), c.at_the_end);
}

}  // namespace

std::string text(const Focus& focus) {
  const std::string asked = "at " + format(focus.chance, "%", 3);
  std::string out =
      line_of("setting", fmt::format("{}, {}, lines {} apart, {} pass{}, {}", format(focus.power, "W", 3),
                                     format(focus.speed, "mm/min", 4), format(focus.fill.spacing, "mm", 3),
                                     focus.fill.passes, focus.fill.passes == 1 ? "" : "es",
                                     where(focus.fill.focus_offset)));
  out += line_of("spot", spot(focus.set)) + line_of("outcome", outcome(focus)) + rooms_text(focus, asked) +
         coarsest_text(focus, asked);
  for (const std::string& note : focus.notes) out += line_of("note", note);
  return out;
}

std::string json(const Focus& focus, const std::vector<std::string>& cautions) {
  const Excursion& total = focus.moves.total;
  return fmt::format(
      R"({{"power": {}, "speed": {}, "spacing": {}, "focus_offset": {}, "passes": {}, "duration": {}, "chance": {}, "own_height": {}, )"
      R"("ruling": "{}", "least_factor": {}, "greatest_factor": {}, "chance_good": {}, "nominal": {}, "likely": {}, "moves": {}, )"
      R"("coarsest": {}, "heights": {{{}}}, "notes": {}, "cautions": {}}})"
      "\n",
      json_number(focus.power), json_number(focus.speed), json_number(focus.fill.spacing),
      json_number(focus.fill.focus_offset), focus.fill.passes, json_number(focus.duration),
      json_number(focus.chance), json_number(focus.set.height), mark::kRulingNames[int(focus.set.ruling)],
      json_number(focus.set.least_factor), json_number(focus.set.greatest_factor),
      json_number(focus.set.chances.good), json_of(focus.nominal, total),
      focus.drawn ? json_of(focus.likely, total) : "null", json_of(focus.moves), json_of(focus.coarsest),
      columns(focus), mark::json_list(focus.notes), mark::json_list(cautions));
}

}  // namespace circumfluence::window

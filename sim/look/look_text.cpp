// What is said of a job's look, in lines and as JSON.
#include <fmt/format.h>

#include <cmath>

#include "look/look.h"
#include "quantity/unit.h"

namespace circumfluence::look {
namespace {

using mark::json_number;
using mark::json_text;
using quantity::format;

std::string mm(double length) {
  return format(length, "mm", 3);
}
std::string finest(double length) {
  return std::isfinite(length) ? mm(length) : "none";
}

std::string percent(double share) {
  return fmt::format("{:.0f} %", 100 * share);
}

char letter(Letter grade) {
  return kLetters[int(grade)];
}

bool is_seen(const Look& look) {
  return look.contrast.diffuse >= 1;
}

std::string contrast(const Look& look) {
  const Contrast& c = look.contrast;
  if (!is_seen(look))
    return fmt::format("contrast   CIEDE2000 = {:.1f}: a full area does not stand out from its ground\n", c.diffuse);
  return fmt::format(
      "contrast   CIEDE2000 = {:.0f} in even light, the mark {} than its ground; {:.0f} to {:.0f} where a lamp glints\n"
      "unwiped    {:.0f} before loose residue is wiped off\n",
      c.diffuse, c.lighter ? "lighter" : "darker", c.gloss_least, c.gloss, look.unwiped.diffuse);
}

std::string greys(const ToneCurve& curve) {
  std::string out = fmt::format("greys      {}: {} step{} apart; nothing shows up to {}, nothing is added from {}",
                                name_of(curve.screen), curve.steps, curve.steps == 1 ? "" : "s", percent(curve.start),
                                percent(curve.full));
  if (curve.screen) out += fmt::format("; half the dots look like {}", percent(0.5 + curve.gain));
  return out + "\n";
}

std::string letters(const Lettering& l, bool path_along_axis) {
  const char* const along = path_along_axis ? "along the axis" : "around";
  const char* const across = path_along_axis ? "around" : "along the axis";
  return fmt::format("strokes    from {} {} and {} {}; gaps from {} and {}; {} by {}\n", finest(l.stroke_along.drawn), along,
                     finest(l.stroke_across.drawn), across, finest(l.gap_along.drawn), finest(l.gap_across.drawn),
                     l.growth < 0 ? "thinner than drawn" : "wider than drawn", mm(std::abs(l.growth))) +
         (std::isfinite(l.height)
              ? fmt::format("letters    capitals from {} high ({} can be made, {} are read at arm's length)\n", mm(l.height),
                            mm(l.made), mm(l.read))
              : "letters    none come out with these settings\n");
}

std::string code(const CodeGrade& g) {
  if (g.symbol.text.empty()) return "code       one was meant that does not read as drawn\n";
  if (!(g.spots > 0)) return fmt::format("code       {}: not graded\n", kSymbologyNames[int(g.symbol.kind)]);
  const double module = std::min(g.module_axial, g.module_around);
  std::string out = fmt::format("code       {} of {} x {} modules of {} ({:.1f} spots): ", kSymbologyNames[int(g.symbol.kind)],
                                g.symbol.columns, g.symbol.rows, mm(module), g.spots);
  out += g.reads ? "reads as seen" : g.reads_inverted ? "reads with light and dark exchanged" : "does not read";
  const double growth = std::abs(g.growth_axial) > std::abs(g.growth_around) ? g.growth_axial : g.growth_around;
  return out + fmt::format(
                   "\ngrade      {} (contrast {} {}, modulation {} {}, evenness {}); cell contrast {} {}; burnt modules {} of one "
                   "{} than nominal{}\n",
                   letter(g.overall), percent(g.symbol_contrast), letter(g.by_contrast), percent(g.modulation),
                   letter(g.by_modulation), letter(g.by_nonuniformity), percent(g.cell_contrast), letter(g.by_cell),
                   percent(std::abs(growth)), growth < 0 ? "narrower" : "wider",
                   g.flipped ? fmt::format("; {} misread", g.flipped) : "");
}

constexpr double kPale = 20;  // [1] CIEDE2000, below which letters are to be larger too

std::string room(const CodeRoom& r, bool pale) {
  if (!std::isfinite(r.least_module)) return "codes      none read with these settings\n";
  std::string out = fmt::format("codes      QR codes read from modules of {} on{}", mm(r.least_module),
                                r.inverted ? ", as light marks on dark ground" : "");
  if (r.most_modules == 0) return out + ", laid flat; none around this part\n";
  out += fmt::format("; of these the largest has {} a side, {} wide", r.most_modules, mm(r.widest));
  return out + (pale ? "; so pale a mark is not read by every camera\n" : "\n");
}

std::string json(const Contrast& c) {
  return fmt::format(R"({{"diffuse": {}, "gloss": {}, "gloss_least": {}, "lighter": {}}})", json_number(c.diffuse),
                     json_number(c.gloss), json_number(c.gloss_least), c.lighter);
}

std::string json(const ToneCurve& c) {
  std::string shares, light, areas;
  for (const Tone& tone : c.tones) {
    const char* const comma = shares.empty() ? "" : ", ";
    shares += comma + json_number(tone.share);
    light += comma + json_number(tone.lab.l);
    areas += comma + json_number(tone.marked);
  }
  return fmt::format(
      R"({{"by": "{}", "dot": {}, "steps": {}, "gain": {}, "apparent_n": {}, "start": {}, "full": {}, "unsteady": {}, )"
      R"("shares": [{}], "lightness": [{}], "marked": [{}]}})",
      name_of(c.screen), json_number(c.dot), c.steps, json_number(c.gain), json_number(c.apparent_n), json_number(c.start),
      json_number(c.full), json_number(c.unsteady), shares, light, areas);
}

std::string json(const Lettering& l) {
  const auto pair = [](const Finest& f) {
    return fmt::format(R"({{"drawn": {}, "marked": {}}})", json_number(f.drawn), json_number(f.marked));
  };
  return fmt::format(
      R"({{"stroke_along": {}, "stroke_across": {}, "gap_along": {}, "gap_across": {}, "growth": {}, "made": {}, "read": {}, "height": {}}})",
      pair(l.stroke_along), pair(l.stroke_across), pair(l.gap_along), pair(l.gap_across), json_number(l.growth),
      json_number(l.made), json_number(l.read), json_number(l.height));
}

std::string json(const CodeGrade& g) {
  return fmt::format(
      R"({{"kind": "{}", "text": {}, "columns": {}, "rows": {}, "module_axial": {}, "module_around": {}, "growth_axial": {}, )"
      R"("growth_around": {}, "symbol_contrast": {}, "modulation": {}, "nonuniformity": {}, "cell_contrast": {}, "overall": "{}", )"
      R"("by_cell": "{}", "flipped": {}, "reads": {}, "reads_inverted": {}}})",
      kSymbologyNames[int(g.symbol.kind)], json_text(g.symbol.text), g.symbol.columns, g.symbol.rows, json_number(g.module_axial),
      json_number(g.module_around), json_number(g.growth_axial), json_number(g.growth_around), json_number(g.symbol_contrast),
      json_number(g.modulation), json_number(g.nonuniformity), json_number(g.cell_contrast), letter(g.overall), letter(g.by_cell),
      g.flipped, g.reads, g.reads_inverted);
}

template <class Item>
std::string list(const std::vector<Item>& items) {
  std::string out;
  for (const Item& item : items) out += (out.empty() ? "" : ", ") + json(item);
  return "[" + out + "]";
}

}  // namespace

std::string text(const Look& look) {
  std::string out = fmt::format("verdict    {}\n", mark::kRulingNames[int(look.map.verdict.ruling)]);
  if (!look.map.scene.path) out += contrast(look);
  const bool told = is_seen(look);  // of what is not, nothing more is worth saying
  if (told)
    for (const ToneCurve& curve : look.curves) out += greys(curve);
  if (told && look.smallest)
    out += fmt::format("smallest   dot {}, gap {}\n", finest(look.smallest->dot), finest(look.smallest->gap));
  if (told && look.lettering)
    out += letters(*look.lettering, look.map.scene.job.scan.direction == motion::Direction::axial);
  for (const CodeGrade& grade : look.codes) out += code(grade);
  if (told && look.room) out += room(*look.room, look.contrast.diffuse < kPale);
  for (const std::string& note : look.notes) out += fmt::format("note       {}\n", note);
  for (const std::string& caution : mark::cautions(look.map.scene)) out += fmt::format("caution    {}\n", caution);
  return out;
}

std::string json(const Look& look) {
  const CodeRoom* const room = look.room ? &*look.room : nullptr;
  const bool filled = !look.map.scene.path;
  return fmt::format(
      R"({{"verdict": {}, "contrast": {}, "unwiped": {}, "greys": {}, "smallest_dot": {}, "smallest_gap": {}, "letters": {}, "codes": {}, )"
      R"("least_module": {}, "most_modules": {}, "notes": {}, "cautions": {}}})"
      "\n",
      mark::json_text(mark::kRulingNames[int(look.map.verdict.ruling)]), filled ? json(look.contrast) : "null", filled ? json(look.unwiped) : "null", list(look.curves),
      look.smallest ? json_number(look.smallest->dot) : "null", look.smallest ? json_number(look.smallest->gap) : "null",
      look.lettering ? json(*look.lettering) : "null", list(look.codes), room ? json_number(room->least_module) : "null",
      room ? std::to_string(room->most_modules) : "null", mark::json_list(look.notes),
      mark::json_list(mark::cautions(look.map.scene)));
}

}  // namespace circumfluence::look

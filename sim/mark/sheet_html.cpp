// The set-up sheet as a page for paper: HTML with its style and drawings inside, black on white, one A4
// upright.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "mark/set_up.h"

namespace circumfluence::mark {
namespace {

// Letters shrink a little where there is much to say, so that it stays one page. Widths as of a wide face.
constexpr double kLargest = 8.4, kSmallest = 6.0;  // [pt]
constexpr double kPoint = 0.3528, kLine = 1.22;    // [mm], [1] of the letters' size
constexpr double kLetter = 0.56;                   // [1] mean width
constexpr double kColumn = 93, kLabel = 27;        // [mm] a column, and what of it a table's labels take
constexpr double kTall = 208, kApart = 3;  // [mm] a column, and what a heading takes beside its letters
constexpr const char* kWeighty[] = {"set for this part", "put back afterwards", "riser", "beam starts",
                                    "settings"};

constexpr const char* kStyle = R"(
@page { size: A4 portrait; margin: 8mm 9mm }
* { box-sizing: border-box }
body { margin: 0 auto; width: 192mm; color: #000; background: #fff; font-family: sans-serif; line-height: 1.22 }
h1 { font-size: 1.7em; margin: 0 0 1mm; border-bottom: 0.5mm solid #000; display: flex; justify-content: space-between }
h1 span { font-size: 0.55em; font-weight: normal; align-self: end }
h2 { font-size: 1.12em; margin: 0 0 0.4mm; border-bottom: 0.2mm solid #000; break-after: avoid }
.drawings { display: flex; justify-content: space-between; margin: 1mm 0 }
figure { margin: 0; text-align: center }
figcaption { font-size: 0.88em }
.columns { columns: 2; column-gap: 5mm }
section { break-inside: avoid; margin: 0 0 1.6mm }
table { border-collapse: collapse; width: 100% }
td { vertical-align: top; padding: 0 0 0.25mm }
td:first-child { width: 27mm; padding-right: 1.5mm; color: #333 }
.w td:last-child { font-weight: bold }
ol, ul { margin: 0; padding: 0 0 0 4.2mm }
ol { list-style-position: outside }
li { margin: 0 0 0.5mm }
.whole { break-inside: auto }
svg { display: block; margin: 0 auto }
svg text { font: 2.5px sans-serif; fill: #000 }
.k, .p, .h, .t, .b, .l, .x, .a { fill: none; stroke: #000; stroke-width: 0.25 }
.p { stroke-width: 0.45; fill: #fff }
.h { fill: #ddd }
.t { stroke-width: 0.12 }
.b { stroke-width: 0.6 }
.l { stroke-width: 0.3; stroke-dasharray: 1.4 0.7 }
.x { stroke-width: 0.12; stroke-dasharray: 3 0.7 0.5 0.7 }
.a { stroke-width: 0.2; fill: #bbb }
.f { fill: #000; stroke: none }
.q { fill: #000; stroke: #000; stroke-width: 0.06 }
@media screen { body { padding: 6mm 0 } }
)";

std::string escaped(const std::string& words) {
  std::string out;
  for (const char c : words)
    out += c == '&'   ? "&amp;"
           : c == '<' ? "&lt;"
           : c == '>' ? "&gt;"
           : c == '"' ? "&quot;"
                      : std::string(1, c);
  return out;
}

std::string table(const Block& block) {
  std::string out = fmt::format("<section><h2>{}</h2><table>\n", escaped(block.title));
  for (const auto& [label, words] : block.rows) {
    const bool weighty = std::find(std::begin(kWeighty), std::end(kWeighty), label) != std::end(kWeighty);
    out += fmt::format("<tr{}><td>{}</td><td>{}</td></tr>\n", weighty ? " class=\"w\"" : "", escaped(label),
                       escaped(words));
  }
  return out + "</table></section>\n";
}

std::string list(const char* title, const char* kind, const std::vector<std::string>& items) {
  std::string out = fmt::format("<section class=\"whole\"><h2>{}</h2><{}>\n", title, kind);
  for (const std::string& item : items) out += fmt::format("<li>{}</li>\n", escaped(item));
  return out + fmt::format("</{}></section>\n", kind);
}

// [mm] of one column that words take, in letters of a size [pt].
double height(const std::string& words, double wide, double size) {
  return kLine * kPoint * size * std::ceil(double(words.size()) * kLetter * kPoint * size / wide * 1.03);
}

double height(const SetUp& sheet, const std::vector<Block>& all, double size) {
  double out = (double(all.size()) + 2) * (kApart + 1.12 * kLine * kPoint * size);
  for (const Block& block : all)
    for (const auto& [label, words] : block.rows)
      out += 0.25 + std::max(height(words, kColumn - kLabel, size), height(label, kLabel, size));
  for (const auto* items : {&sheet.looks, &sheet.checks, &sheet.cautions})
    for (const std::string& item : *items) out += 0.5 + height(item, kColumn - 5, size);
  return out;
}

// Whither the surface moves under the beam, drawn below the letter: 1 to the right, -1 to the left.
int surface_way(const SetUp& sheet) {
  const bool against = int(motion::against(sheet.job.mount)) & 2;
  // With the mouth up, `around` grows to the right where axial positions begin there; the surface runs
  // against the beam.
  return (sheet.job.mount.mouth == motion::End::start) == against ? 1 : -1;
}

}  // namespace

std::string letter_view(const SetUp& sheet) {
  std::string out = "<figure><svg width=\"24mm\" height=\"62mm\" viewBox=\"0 0 24 62\">\n";
  out += fmt::format("<text x=\"12\" y=\"16\" text-anchor=\"middle\">{}</text>\n",
                     sheet.landing.mouth == motion::End::unstated ? "axial grows" : "mouth");
  const auto rows = motion::letter(sheet.landing);
  for (int row = 0; row < 7; ++row)
    for (int column = 0; column < 7; ++column)
      if (rows[size_t(row)][size_t(column)] == '#')
        out += fmt::format("<path class=\"q\" d=\"M{:.1f} {:.1f}h2.6v2.6h-2.6Z\"/>\n", 2.9 + 2.6 * column,
                           18 + 2.6 * row);
  out += "<path class=\"t\" d=\"M2.9 18h18.2v18.2h-18.2Z\"/>\n";
  if (sheet.turning && motion::way_stated(sheet.job.mount))
    out += fmt::format(
        "<g transform=\"translate(12 41) scale({} 1)\"><path class=\"k\" d=\"M-7 0H7\"/><path class=\"f\" "
        "d=\"M7.5 0l-2.5 -1v2Z\"/></g>\n"
        "<text x=\"12\" y=\"45\" text-anchor=\"middle\">the surface moves</text>\n",
        surface_way(sheet));
  return out + "</svg><figcaption>F as it lands, seen from outside</figcaption></figure>\n";
}

std::string sheet_html(const SetUp& sheet) {
  const std::vector<Block> all = blocks(sheet);
  std::string body;
  for (const Block& block : all) body += table(block);
  if (!sheet.looks.empty()) body += list("Look at the path", "ul", sheet.looks);
  body += list("In this order", "ol", sheet.checks) + list("Mind", "ul", sheet.cautions);
  double size = kLargest;
  while (size > kSmallest && height(sheet, all, size) > 2 * kTall) size -= 0.05;
  const std::string stem = std::filesystem::path(sheet.job.name).stem().string();
  const std::string title = escaped(stem.empty() ? "Set-up sheet" : "Set-up sheet: " + stem);
  return fmt::format(
             "<!DOCTYPE html>\n<html lang=\"en\"><head><meta "
             "charset=\"utf-8\"/><title>{}</title><style>{}body {{ font-size: {:.2f}pt }}\n"
             "</style></head><body>\n<h1>{}<span>drawings to scale when printed at 100 % &#160; date "
             "____________ &#160; by ____________</span></h1>\n",
             title, kStyle, size, title) +
         "<div class=\"drawings\">\n" + end_view(sheet) + side_view(sheet) + letter_view(sheet) +
         "</div>\n<div class=\"columns\">\n" + body + "</div>\n</body></html>\n";
}

}  // namespace circumfluence::mark

// The page on which the part is turned by hand.
#include <fmt/format.h>

#include <algorithm>

#include "artwork/png.h"
#include "look/round.h"
#include "quantity/bands.h"
#include "quantity/constants.h"
#include "quantity/error.h"
#include "quantity/unfinished_file.h"

namespace circumfluence::look {
namespace {

constexpr int kMostFrames = 720;
constexpr int kQuality = 80;
constexpr int kTogether = 8;  // frames rendered at a time

std::string base64(const std::vector<std::uint8_t>& bytes) {
  static const char* const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (size_t i = 0; i < bytes.size(); i += 3) {
    const size_t left = bytes.size() - i;
    const unsigned word = unsigned(bytes[i]) << 16 | (left > 1 ? unsigned(bytes[i + 1]) << 8 : 0) |
                          (left > 2 ? bytes[i + 2] : 0u);
    out += letters[word >> 18];
    out += letters[word >> 12 & 63];
    out += left > 1 ? letters[word >> 6 & 63] : '=';
    out += left > 2 ? letters[word & 63] : '=';
  }
  return out;
}

std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : text) switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += c;
    }
  return out;
}

std::string packed(const appearance::Pixels& pixels) {
  return base64(artwork::encode_jpeg({.data = pixels.rgb.front().data(),
                                      .width = pixels.width,
                                      .height = pixels.height,
                                      .stride = 3 * size_t(pixels.width),
                                      .samples = artwork::Samples::rgb},
                                     kQuality));
}

// All around, as a list in the language of the page.
std::string frames(const Skin& skin, const workpiece::Profile& profile, const Turning& turning,
                   const quantity::Progress& progress) {
  std::string out = "[";
  for (int first = 0; first < turning.frames; first += kTogether) {
    if (progress && !progress(double(first) / turning.frames)) throw quantity::Interrupted();
    const int last = std::min(first + kTogether, turning.frames);
    std::vector<double> turns;
    for (int i = first; i < last; ++i)
      turns.push_back(turning.view.turn + 2 * quantity::kPi * i / turning.frames);
    const std::vector<appearance::Pixels> pictures = render_around(skin, profile, turning.view, turns);
    std::vector<std::string> texts(pictures.size());
    quantity::for_bands({.count = last - first, .band = 1, .threads = turning.view.threads},
                        [&](int from, int to, int) {
                          for (int i = from; i < to; ++i) texts[size_t(i)] = packed(pictures[size_t(i)]);
                        });
    for (const std::string& text : texts) out += (out.size() > 1 ? ",\n\"" : "\n\"") + text + "\"";
  }
  return out + "]";
}

constexpr const char* kStyle = R"(
:root { color-scheme: light dark; }
body { font: 16px/1.5 system-ui, sans-serif; margin: 0 auto; padding: 1rem; max-width: 60rem; color: #22262c; background: #f7f8fa; }
h1 { font-size: 1.3rem; margin: 0 0 .6rem; }
main { display: flex; flex-wrap: wrap; gap: 0 1.5rem; align-items: flex-start; } aside { flex: 1 1 16rem; }
#part { display: inline-block; max-width: 100%; line-height: 0; border-radius: 10px; overflow: hidden; cursor: grab; user-select: none; }
#part.held { cursor: grabbing; }
#part:focus-visible, button:focus-visible { outline: 3px solid #1668c7; outline-offset: 3px; }
#part img { max-width: 100%; height: auto; max-height: 82vh; pointer-events: none; }
.row { display: flex; flex-wrap: wrap; gap: .6rem; align-items: center; margin: .7rem 0; }
button { font: inherit; padding: .45rem .9rem; border-radius: 8px; border: 1px solid #8a919c; background: #fff; color: inherit; cursor: pointer; }
p { margin: .3rem 0; } .soft { color: #5a626e; }
@media (prefers-color-scheme: dark) {
  body { color: #e6e8ec; background: #17191d; } button { background: #262a30; border-color: #6d7581; } .soft { color: #a8b0bc; }
  #part:focus-visible, button:focus-visible { outline-color: #7db7ff; }
})";

constexpr const char* kScript = R"(
'use strict';
const part = document.getElementById('part'), angle = document.getElementById('angle');
const play = document.getElementById('play'), wipe = document.getElementById('wipe');
const names = sets.length > 1 ? ['after the wipe', 'before the wipe'] : [''];
let at = 0, set = 0, timer = 0;
const count = sets[0].length;
const pictures = sets.map((set, which) => set.map(data => {
  const img = new Image(wide, high);
  img.alt = what + (names[which] ? ', ' + names[which] : '');
  img.draggable = false;
  img.src = 'data:image/jpeg;base64,' + data;
  return img;
}));
function show(next) {
  at = ((next % count) + count) % count;
  part.replaceChildren(pictures[set][at]);
  const degrees = Math.round(at * 360 / count);
  angle.textContent = 'Turned by ' + degrees + '\u00b0';
  part.setAttribute('aria-valuenow', degrees);
  part.setAttribute('aria-valuetext', 'turned by ' + degrees + ' degrees' + (names[set] ? ', ' + names[set] : ''));
}
function stop() {
  if (!timer) return;
  clearInterval(timer);
  timer = 0;
  play.textContent = 'Keep turning';
}
play.hidden = matchMedia('(prefers-reduced-motion: reduce)').matches;
play.addEventListener('click', () => {
  if (timer) return stop();
  timer = setInterval(() => show(at + 1), 6000 / count);
  play.textContent = 'Stop';
});
if (wipe) wipe.addEventListener('click', () => {
  set = 1 - set;
  wipe.textContent = set ? 'Wipe it' : 'Before the wipe';
  document.getElementById('state').textContent = set ? 'Before the wipe: loose residue lies on it.' : 'After the wipe.';
  show(at);
});
part.addEventListener('keydown', event => {
  const steps = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: count / 4, PageDown: -count / 4 };
  if (event.key === 'Home') show(0);
  else if (event.key === 'End') show(count / 2 | 0);
  else if (event.key in steps) show(Math.round(at + steps[event.key]));
  else return;
  stop();
  event.preventDefault();
});
let held = null;
part.addEventListener('pointerdown', event => {
  if (event.button) return;
  stop();
  part.setPointerCapture(event.pointerId);
  part.classList.add('held');
  held = { from: upright ? event.clientX : event.clientY, at };
});
part.addEventListener('pointermove', event => {
  if (!held) return;
  const moved = (upright ? event.clientX : event.clientY) - held.from;
  show(held.at + Math.round(moved / across() * count / Math.PI));
});
for (const end of ['pointerup', 'pointercancel', 'lostpointercapture'])
  part.addEventListener(end, () => { held = null; part.classList.remove('held'); });
function across() { return Math.max(1, (upright ? part.clientWidth / wide : part.clientHeight / high) * body); }
let rolled = 0;
part.addEventListener('wheel', event => {
  stop();
  rolled += (event.deltaY || event.deltaX) * (event.deltaMode ? 30 : 1);
  const steps = Math.trunc(rolled / 40);
  if (steps) show(at + steps);
  rolled -= steps * 40;
  event.preventDefault();
}, { passive: false });
show(0);
)";

std::string said(const Turning& turning) {
  std::string out;
  for (const std::string& line : turning.lines) out += "<p>" + escaped(line) + "</p>\n";
  return out;
}

// Everything but the pictures and the script.
std::string body(const Turning& turning, const std::string& title, bool wipe) {
  return fmt::format(
      "<h1>{0}</h1>\n<main><div id=\"part\" tabindex=\"0\" role=\"slider\" aria-label=\"Turn the part\" "
      "aria-valuemin=\"0\" "
      "aria-valuemax=\"360\" aria-valuenow=\"0\" style=\"touch-action: {1}\"></div>\n"
      "<aside><noscript><p>This page turns the part with a script, which is switched off "
      "here.</p></noscript>\n"
      "<div class=\"row\"><button id=\"play\" type=\"button\">Keep turning</button>{2}<span id=\"angle\" "
      "class=\"soft\"></span></div>\n"
      "{3}<p class=\"soft\">Drag it, roll the wheel over it, or use the arrow keys. A prediction, not a "
      "photograph: light and gloss are "
      "a choice of display.</p>\n{4}</aside></main>\n",
      escaped(title), turning.view.upright ? "pan-y" : "pan-x",
      wipe ? "<button id=\"wipe\" type=\"button\">Before the wipe</button>" : "",
      wipe ? "<p id=\"state\" aria-live=\"polite\">After the wipe.</p>\n" : "", said(turning));
}

void check(const Turning& turning) {
  if (turning.frames < 1 || turning.frames > kMostFrames)
    throw quantity::ValidityError(
        fmt::format("part in the round: frames = {} (expected 1 to {})", turning.frames, kMostFrames));
}

}  // namespace

void write_turning(const std::string& path, const workpiece::Profile& profile, const Skin& wiped,
                   const Skin* unwiped, const Turning& turning) {
  check(turning);
  const double pixel = pixel_of(profile, turning.view);
  quantity::UnfinishedFile file(path);
  const double half = unwiped ? 0.5 : 1.0;
  std::string sets = frames(wiped, profile, turning, quantity::part(turning.progress, 0, half));
  if (unwiped) sets += ",\n" + frames(*unwiped, profile, turning, quantity::part(turning.progress, half, 1));
  const std::string title = turning.title.empty() ? "The part in the round" : turning.title;
  const std::string page = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, "
      "initial-scale=1\">\n<title>{}</title>\n<style>{}\n</style>\n</head>\n"
      "<body>\n{}<script>\nconst sets = [{}], wide = {}, high = {}, body = {:.1f}, upright = {}, what = 'The "
      "part with its mark';\n"
      "{}</script>\n</body>\n</html>\n",
      escaped(title), kStyle, body(turning, title, unwiped), sets, turning.view.width, turning.view.height,
      2 * profile.greatest_radius() / pixel, turning.view.upright ? "true" : "false", kScript);
  file.expect_room(page.size());
  file.write_at(0, page.data(), page.size());
  file.publish();
}

}  // namespace circumfluence::look

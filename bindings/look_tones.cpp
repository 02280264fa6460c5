// Tone curves, corrected art and halftones.
#include "look/tones.h"

#include <cmath>

#include "artwork/halftone.h"
#include "calibration_given.h"
#include "look_given.h"

namespace circumfluence::bindings {

using look::Smallest;
using look::Tone;
using look::ToneCurve;

namespace {

using SharedCurve = std::shared_ptr<ToneCurve>;

py::object screen_name(const ToneCurve& c) {
  return c.screen ? py::object(py::str(kScreens[int(*c.screen)])) : py::object(py::none());
}

py::array lab_of(const ToneCurve& c) {
  std::vector<double> out;
  for (const Tone& t : c.tones) out.insert(out.end(), {t.lab.l, t.lab.a, t.lab.b});
  return taken(std::move(out), {py::ssize_t(c.tones.size()), 3});
}

py::object given_for(const ToneCurve& c, const py::object& way) {
  const auto ways = si_array(way, "%");
  if (!ways) throw py::type_error("way: expected a number or an array of them");
  py::array_t<double> out(std::vector<py::ssize_t>(ways.shape(), ways.shape() + ways.ndim()));
  const auto asked = py::array_t<double, py::array::c_style | py::array::forcecast>(ways);
  for (py::ssize_t i = 0; i < asked.size(); ++i) {
    if (!std::isfinite(asked.data()[i])) throw py::value_error("way: expected finite numbers, 0 to 1");
    out.mutable_data()[i] = look::given_for(c, asked.data()[i]);
  }
  return out.ndim() == 0 ? py::object(py::float_(*out.data())) : py::object(out);
}

py::array corrected(const ToneCurve& c, const py::object& art, const py::object& burns) {
  constexpr const char* kBurns[] = {"dark", "light"};
  const artwork::Image image = image_of(art);
  const auto which = artwork::Burns(Keywords::chosen("burns", burns, kBurns));
  artwork::Image out;
  {
    const py::gil_scoped_release free;
    out = look::corrected(image, which, c);
  }
  return array_of(std::move(out));
}

template <class Get>
auto by_tone(const Get& get) {
  return [get](const ToneCurve& c) { return column(std::span(c.tones), get); };
}

void bind_curve_arrays(py::class_<ToneCurve, SharedCurve>& type) {
  type.def_property_readonly("screen", &screen_name, "how dots are chosen; None: greys by power")
      .def_readonly("dot", &ToneCurve::dot, "[m] from dot to dot")
      .def_property_readonly("shares", by_tone([](const Tone& t) { return t.share; }),
                             "[1] given to the machine, from 0 to 1")
      .def_property_readonly("lightness", by_tone([](const Tone& t) { return t.lab.l; }),
                             "CIE 1976 L* as seen, by share")
      .def_property_readonly("lab", &lab_of, "[share][L*, a*, b*]")
      .def_property_readonly("reflectance", by_tone([](const Tone& t) { return t.reflectance; }),
                             "[1] Y / 100, by share")
      .def_property_readonly("marked", by_tone([](const Tone& t) { return t.marked; }),
                             "[1] of the area, by share")
      .def_property_readonly(
          "given", [](const ToneCurve& c) { return taken(c.given); },
          "[1] inverse: shares to give for even steps of the way from ground to mark");
}

void bind_curve(py::module_& m) {
  py::class_<ToneCurve, SharedCurve> type(m, "ToneCurve",
                                          "What greys come out as, given as power or as dots.");
  bind_curve_arrays(type);
  type.def_readonly("steps", &ToneCurve::steps,
                    "greys that stay apart at a just noticeable difference, of those that can be given")
      .def_readonly("gain", &ToneCurve::gain, "[1] apparent area at a share of one half, less one half")
      .def_property_readonly(
          "apparent_n", [](const ToneCurve& c) { return or_none(c.apparent_n); },
          "[1] Yule and Nielsen's n that the physics amounts to at one half, or None")
      .def_readonly("unsteady", &ToneCurve::unsteady, "[1] by how much it turned back, over its range")
      .def_readonly("start", &ToneCurve::start, "[1] share up to which nothing is seen")
      .def_readonly("full", &ToneCurve::full, "[1] share from which nothing is added")
      .def_readonly("notes", &ToneCurve::notes)
      .def("given_for", &given_for, py::arg("way"),
           "[1] what to give for a way from ground (0) to mark (1) in lightness; a number or an array.")
      .def("corrected", &corrected, py::arg("art"), py::arg("burns") = "dark",
           "Art (an Image, a path or an array) whose tones come out as `art` asks: uint16 [height][width], "
           "black burns. Not "
           "yet dots.")
      .def("__repr__", [](const ToneCurve& c) {
        return fmt::format("<ToneCurve by {}: L* {:.0f} to {:.0f}, {} greys apart>", look::name_of(c.screen),
                           c.tones.empty() ? 0 : c.tones.front().lab.l,
                           c.tones.empty() ? 0 : c.tones.back().lab.l, c.steps);
      });
}

SharedCurve tone_curve(const py::object& job, const py::kwargs& kwargs) {
  look::ToneRequest request;
  const bool by_power = kwargs.contains("screen") && py::object(kwargs["screen"]).is_none();
  Keywords given("tone_curve", stated(kwargs));
  if (by_power)
    request.screen = std::nullopt;
  else if (given.has("screen"))
    request.screen = screen_of(given.take("screen"));
  request.dot = given.number("dot", "um", request.dot);
  request.count = given.count("count", request.count);
  const bool wiped = take_flag(given, "wiped", true);
  request.progress = take_progress(given);
  given.done();
  const SharedProcess process = process_of(job);
  const py::gil_scoped_release free;
  return std::make_shared<ToneCurve>(look::tone_curve(process->swatches, process->finish(wiped), request));
}

void bind_halftone(py::module_& m) {
  m.def(
      "halftone",
      [](const py::object& art, const py::object& screen) {
        const artwork::Image asked = image_of(art);
        const artwork::Screen how = screen_of(screen);
        std::vector<std::uint8_t> dots;
        artwork::Image out;
        {
          const py::gil_scoped_release free;
          out = artwork::halftone(asked, how);
          dots.reserve(out.tone.size());
          for (const std::uint16_t tone : out.tone) dots.push_back(tone ? 255 : 0);
        }
        return taken(std::move(dots), {out.height, out.width});
      },
      py::arg("art"), py::arg("screen") = "blue_noise",
      "Greys as dots, a pixel a dot: uint8 [height][width], 0 where it is burnt, 255 elsewhere.\n\nart: an "
      "Image, a path or "
      "an array, black for all, white for none. screen: \"bayer\", \"floyd_steinberg\", "
      "\"jarvis_judice_ninke\", "
      "\"stucki\" or \"blue_noise\".");
  m.def(
      "screen_ranks",
      [](const py::object& screen) {
        const std::span<const std::uint16_t> ranks = artwork::ranks(screen_of(screen));
        const auto side = py::ssize_t(std::lround(std::sqrt(double(ranks.size()))));
        return taken(std::vector<std::uint16_t>(ranks.begin(), ranks.end()), {side, side});
      },
      py::arg("screen"),
      "The order in which the places of an ordered screen's tile are burnt; empty for error diffusion.");
  m.def(
      "write_image",
      [](const py::object& path, const py::object& art, const py::object& pixel) {
        const artwork::Image image = image_of(art);
        const double size = si(pixel, "um");
        const std::string to = file_path(path);
        const py::gil_scoped_release free;
        artwork::write_image(image, size, to);
      },
      py::arg("path"), py::arg("art"), py::kw_only(), py::arg("pixel"),
      "Art (an Image, a path or an array) as a grey PNG that knows its size, `pixel` a pixel. Raises "
      "FileError.");
}

}  // namespace

void bind_tones(py::module_& m) {
  bind_curve(m);
  bind_halftone(m);
  m.def("tone_curve", &tone_curve, py::arg("job"),
        "What greys come out as on the part.\n\n"
        "Keywords: screen=\"blue_noise\" (as of halftone; None: power in proportion to the tone), dot (from "
        "dot to dot; the "
        "job's, or as far as its lines, if left out), count=17 tones, wiped=True, progress. `job` is a Job, "
        "a prepared "
        "Scene or Swatches. Raises ValidityError for dots finer than cells can hold.");
  py::class_<Smallest>(m, "Smallest", "The smallest lone dot and gap that come out.")
      .def_readonly("dot", &Smallest::dot, "[m] edge; infinity: none up to 16 spots")
      .def_readonly("gap", &Smallest::gap, "[m] edge; likewise")
      .def("__repr__", [](const Smallest& s) {
        const auto told = [](double edge) {
          return std::isfinite(edge) ? quantity::format(edge, "um", 3) : std::string("none");
        };
        return "<Smallest dot " + told(s.dot) + ", gap " + told(s.gap) + ">";
      });
  m.def(
      "smallest",
      [](const py::object& job) {
        const SharedProcess process = process_of(job);
        const py::gil_scoped_release free;
        return look::smallest(process->swatches);
      },
      py::arg("job"),
      "The smallest dot and gap that half come out. `job` is a Job, a prepared Scene or Swatches.");
}

}  // namespace circumfluence::bindings

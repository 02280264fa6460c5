// What places on the part look like, and pieces of art burnt in the mind.
#include "look/finish.h"

#include "look_given.h"
#include "quantity/error.h"

namespace circumfluence::bindings {

using look::Contrast;
using look::Finish;
using look::Shade;
using look::Swatch;

namespace {

// With the process that burnt it, which knows what it looks like.
struct Burnt {
  SharedProcess process;
  Swatch is;
};
using SharedBurnt = std::shared_ptr<Burnt>;

py::tuple rgb_of(const appearance::Linear& light) {
  const appearance::Colour colour = appearance::srgb_from_linear(light);
  return py::make_tuple(colour[0], colour[1], colour[2]);
}

void bind_shade(py::module_& m) {
  py::class_<Shade>(m, "Shade",
                    "How a place sends light on, as amounts of linear red, green, blue; 1: a white one's.")
      .def_property_readonly(
          "diffuse", [](const Shade& s) { return tuple_of(s.diffuse); }, "evenly into all directions")
      .def_property_readonly(
          "mirror", [](const Shade& s) { return tuple_of(s.mirror); }, "like a rough mirror")
      .def_readonly("slope", &Shade::slope, "[1] rms, of the mirror's roughness")
      .def_property_readonly(
          "rgb", [](const Shade& s) { return rgb_of(look::in_diffuse_light(s)); },
          "sRGB, 0 to 255, in light from everywhere")
      .def(
          "at_gloss",
          [](const Shade& s, const py::object& off, const py::object& incidence) {
            return tuple_of(look::at_gloss(s, si(off, "deg"), si(incidence, "deg")));
          },
          py::kw_only(), py::arg("off") = 0.0, py::arg("incidence") = "30 deg",
          "Linear light of a lamp near the mirror's angle, facets tilted by `off`; a white diffuser's is 1. "
          "May exceed 1.")
      .def("__repr__", [](const Shade& s) {
        const appearance::Colour c = appearance::srgb_from_linear(look::in_diffuse_light(s));
        return fmt::format("<Shade #{:02x}{:02x}{:02x}, slope {:.2g}>", c[0], c[1], c[2], s.slope);
      });
}

void bind_finish_type(py::module_& m) {
  py::class_<Finish, std::shared_ptr<Finish>>(m, "Finish",
                                              "What a place looks like, by what became of it: Finish(job, "
                                              "wiped=False) shows the soot that lies loose.")
      .def(py::init([](const py::object& job, bool wiped) {
             return std::make_shared<Finish>(process_of(job)->finish(wiped));
           }),
           py::arg("job"), py::kw_only(), py::arg("wiped") = true)
      .def_property_readonly("ground", [](const Finish& f) { return f.ground(); })
      .def_property_readonly(
          "marked", [](const Finish& f) { return f.marked(); }, "just marked, evenly")
      .def_property_readonly("over_burned", [](const Finish& f) { return f.shades()[Finish::kSteps]; })
      .def_property_readonly("most", &Finish::most, "[m] changed thickness of the last step")
      .def(
          "of",
          [](const Finish& f, const py::object& changed, int outcome) {
            if (outcome < 0 || outcome > 3)
              throw py::value_error(fmt::format("outcome = {} (expected 0 to 3)", outcome));
            return f.of(static_cast<std::uint8_t>(outcome), static_cast<float>(si(changed, "um")));
          },
          py::arg("changed"), py::arg("outcome") = 2,
          "The shade of a place that was changed so far, of that outcome (0 to 3).")
      .def_property_readonly(
          "notes", [](const Finish& f) { return f.notes(); },
          "which colours are the record's, what is a guess")
      .def("__repr__", [](const Finish& f) {
        return fmt::format("<Finish ground {}, marked {}>",
                           py::repr(py::cast(f.ground())).cast<std::string>(),
                           py::repr(py::cast(f.marked())).cast<std::string>());
      });
}

void bind_contrast(py::module_& m) {
  py::class_<Contrast>(m, "Contrast", "CIEDE2000 of the mark against its ground.")
      .def_readonly("diffuse", &Contrast::diffuse, "in light from everywhere")
      .def_readonly("gloss", &Contrast::gloss, "greatest near the mirror's angle")
      .def_readonly("gloss_least", &Contrast::gloss_least, "least near the mirror's angle")
      .def_readonly("lighter", &Contrast::lighter, "whether the mark is, in diffuse light")
      .def("__repr__", [](const Contrast& c) {
        return fmt::format("<Contrast {:.1f} in diffuse light, the mark {}; {:.1f} to {:.1f} near gloss>",
                           c.diffuse, c.lighter ? "lighter" : "darker", c.gloss_least, c.gloss);
      });
  m.def(
      "contrast",
      [](const py::object& job, bool wiped) {
        const SharedProcess process = process_of(job);
        const py::gil_scoped_release free;
        return look::contrast(process->swatches, process->finish(wiped));
      },
      py::arg("job"), py::kw_only(), py::arg("wiped") = true,
      "How well a full area, as the job burns it, stands out against its ground. `job` is a Job, a prepared "
      "Scene or Swatches. Raises ValidityError "
      "for records "
      "without colours.");
}

look::Pane pane_of(const py::handle& value) {
  const auto sides = py::reinterpret_borrow<py::sequence>(value);
  if (sides.size() != 4)
    throw py::value_error(
        "pane: expected four lengths about the art's centre: axial from, to, around from, to");
  return {si(sides[0], "mm"), si(sides[1], "mm"), si(sides[2], "mm"), si(sides[3], "mm")};
}

// Row 0 at the greatest arc, as pictures of predictions are.
py::array picture(const Burnt& burnt, bool wiped) {
  const Finish& finish = burnt.process->finish(wiped);
  const int rows = burnt.is.changed.around(), columns = burnt.is.changed.axial();
  appearance::Pixels out{columns, rows, {}};
  out.rgb.reserve(size_t(rows) * size_t(columns));
  for (int row = rows - 1; row >= 0; --row)
    for (int i = 0; i < columns; ++i)
      out.rgb.push_back(appearance::srgb_from_linear(
          look::in_diffuse_light(finish.of(burnt.is.outcome.row(row)[i], burnt.is.changed.row(row)[i]))));
  return array_of(out);
}

void bind_swatch(py::module_& m) {
  py::class_<Burnt, SharedBurnt>(m, "Swatch", "A small piece of art, burnt.")
      .def_property_readonly(
          "outcome", [](const Burnt& b) { return view(b.is.outcome); }, "uint8 [around][axial]")
      .def_property_readonly(
          "changed", [](const Burnt& b) { return view(b.is.changed); }, "float32 [m] [around][axial]")
      .def_property_readonly(
          "cell", [](const Burnt& b) { return b.is.cell; }, "[m]")
      .def_property_readonly(
          "axial", [](const Burnt& b) { return b.is.axial; },
          "[m] from the first cell's edge to the art's centre")
      .def_property_readonly(
          "around", [](const Burnt& b) { return b.is.around; }, "[m] likewise")
      .def(
          "mean_shade",
          [](const Burnt& b, const py::object& pane, bool wiped) {
            return look::mean_shade(b.is, pane_of(pane), b.process->finish(wiped));
          },
          py::arg("pane"), py::kw_only(), py::arg("wiped") = true,
          "The shade of (axial from, to, around from, to) about the art's centre, by area.")
      .def(
          "marked_share",
          [](const Burnt& b, const py::object& pane) { return look::marked_share(b.is, pane_of(pane)); },
          py::arg("pane"), "[1] share of a pane that is marked or over-burned.")
      .def("picture", &picture, py::kw_only(), py::arg("wiped") = true,
           "uint8 [height][width][3] sRGB, a pixel a cell, around upward.")
      .def("__repr__", [](const Burnt& b) {
        return fmt::format("<Swatch {} x {} cells of {}>", b.is.changed.around(), b.is.changed.axial(),
                           quantity::format(b.is.cell, "um", 4));
      });
}

constexpr const char* kUses[] = {"threshold", "grey", "halftone"};

SharedBurnt burn(const SharedProcess& self, const py::object& art, const py::object& pixel,
                 const py::object& tone) {
  const artwork::Image image = image_of(art);
  const double size = si(pixel, "um");
  const auto use = artwork::ToneUse(Keywords::chosen("tone", tone, kUses));
  if (!(size > 0)) throw quantity::ValidityError("pixel (expected above 0 um)");
  const py::gil_scoped_release free;
  return std::make_shared<Burnt>(self, self->swatches.burn(image, size, use));
}

void bind_swatches(py::module_& m) {
  py::class_<Process, SharedProcess>(
      m, "Swatches",
      "A job's process made ready to burn small pieces of art on a cold wall: Swatches(job, cell=\"10 "
      "um\").\n\n"
      "Every function of the room takes one in place of a job, which saves making it anew.")
      .def(py::init([](const py::object& job, const py::object& cell) {
             const SharedScene scene = scene_of(job);
             const double edge = si(cell, "um");
             const py::gil_scoped_release free;
             return std::make_shared<Process>(scene, edge);
           }),
           py::arg("job"), py::kw_only(), py::arg("cell") = 0.0)
      .def("burn", &burn, py::arg("art"), py::kw_only(), py::arg("pixel"), py::arg("tone") = "threshold",
           "Burns a picture (an Image, a path or an array), dark where it is burnt, `pixel` a "
           "pixel.\n\ntone: \"threshold\" "
           "(on or off: line art and finished dots) or \"grey\" (as power).")
      .def_property_readonly("scene", [](const Process& p) { return p.scene; })
      .def_property_readonly(
          "spacing", [](const Process& p) { return p.swatches.spacing(); }, "[m] between the job's lines")
      .def_property_readonly(
          "spot", [](const Process& p) { return p.swatches.spot(); },
          "[m] 1/e^2 diameter, where the focus was set")
      .def_property_readonly("notes", [](const Process& p) { return p.wiped.notes(); })
      .def("__repr__", [](const Process& p) {
        return fmt::format("<Swatches, spot {}, lines {} apart>",
                           quantity::format(p.swatches.spot(), "um", 4),
                           quantity::format(p.swatches.spacing(), "um", 4));
      });
}

}  // namespace

void bind_finish(py::module_& m) {
  bind_shade(m);
  bind_swatch(m);
  bind_swatches(m);
  bind_finish_type(m);
  bind_contrast(m);
}

}  // namespace circumfluence::bindings

// The part unrolled and in the round, and everything at once.
#include "look/round.h"

#include "calibration_given.h"
#include "look/look.h"
#include "look/solid_file.h"
#include "look_given.h"

namespace circumfluence::bindings {

using look::Look;
using look::Skin;
using look::View;
using mark::MarkMap;

namespace {

// With the shape it is worn on.
struct Worn {
  Skin skin;
  workpiece::Profile profile;
};
using SharedWorn = std::shared_ptr<Worn>;

Skin skin_of(const MarkMap& map, const look::Blocks& blocks) {
  const py::gil_scoped_release free;
  return look::skin(map, blocks);
}

appearance::Colour colour_of(const py::object& value) {
  if (py::isinstance<py::str>(value)) return appearance::parse_colour(value.cast<std::string>());
  return value.cast<appearance::Colour>();
}

View take_view(Keywords& given, View out) {
  out.turn = given.number("turn", "deg", out.turn);
  out.tilt = given.number("tilt", "deg", out.tilt);
  out.width = given.count("width", out.width);
  out.height = given.count("height", out.height);
  out.upright = take_flag(given, "upright", out.upright);
  if (given.has("backdrop")) out.backdrop = colour_of(given.take("backdrop"));
  return out;
}

py::array rendered(const Skin& skin, const workpiece::Profile& profile, const View& view) {
  appearance::Pixels out;
  {
    const py::gil_scoped_release free;
    out = look::render(skin, profile, view);
  }
  return array_of(out);
}

py::array render(const MarkMap& map, const py::kwargs& kwargs) {
  Keywords given("render", stated(kwargs));
  View view = take_view(given, {});
  const look::Blocks blocks = take_blocks(given);
  given.done();
  view.threads = blocks.threads;
  return rendered(skin_of(map, blocks), map.scene.profile, view);
}

py::array render_worn(const Worn& self, const py::kwargs& kwargs) {
  Keywords given("render", stated(kwargs));
  View view = take_view(given, {});
  view.threads = given.count("threads", 0);
  given.done();
  return rendered(self.skin, self.profile, view);
}

py::array flat(const MarkMap& map, const py::kwargs& kwargs) {
  Keywords given("flat", stated(kwargs));
  const look::Blocks blocks = take_blocks(given);
  given.done();
  return array_of(look::flat(skin_of(map, blocks)));
}

SharedWorn skin(const MarkMap& map, const py::kwargs& kwargs) {
  Keywords given("skin", stated(kwargs));
  const look::Blocks blocks = take_blocks(given);
  given.done();
  return std::make_shared<Worn>(skin_of(map, blocks), map.scene.profile);
}

void write_turning(const MarkMap& map, const py::object& path, const py::kwargs& kwargs) {
  Keywords given("write_turning", stated(kwargs));
  look::Turning turning;
  turning.frames = given.count("frames", turning.frames);
  turning.view = take_view(given, turning.view);
  if (given.has("title")) turning.title = words("title", given.take("title"));
  if (given.has("lines")) turning.lines = given.take("lines").cast<std::vector<std::string>>();
  const bool both = take_flag(given, "unwiped", true);
  turning.progress = take_progress(given);
  look::Blocks blocks = take_blocks(given);
  given.done();
  turning.view.threads = blocks.threads;
  const std::string to = file_path(path);
  const py::gil_scoped_release free;
  blocks.wipe = look::Wipe::after;
  const Skin wiped = look::skin(map, blocks);
  blocks.wipe = look::Wipe::before;
  const std::optional<Skin> before = both ? std::optional<Skin>(look::skin(map, blocks)) : std::nullopt;
  look::write_turning(to, map.scene.profile, wiped, before ? &*before : nullptr, turning);
}

py::array lights(const SharedWorn& self, const std::vector<std::array<float, 3>>& which) {
  const float* first = which.empty() ? nullptr : which.front().data();
  return view(first, {self->skin.around, self->skin.axial, 3}, std::shared_ptr<void>(self, self.get()));
}

void bind_skin(py::module_& m) {
  py::class_<Worn, SharedWorn>(m, "Skin",
                               "The surface as it will look, unrolled, in blocks: linear light as views.")
      .def_property_readonly(
          "diffuse", [](const SharedWorn& s) { return lights(s, s->skin.diffuse); },
          "float32 [around][axial][3] linear light sent evenly into all directions")
      .def_property_readonly(
          "mirror", [](const SharedWorn& s) { return lights(s, s->skin.mirror); },
          "float32 [around][axial][3] linear light sent on as by a rough mirror")
      .def_property_readonly(
          "slope",
          [](const SharedWorn& s) {
            return view(s->skin.slope.data(), {s->skin.around, s->skin.axial},
                        std::shared_ptr<void>(s, s.get()));
          },
          "float32 [around][axial] rms slope of the mirror")
      .def_property_readonly(
          "block_axial", [](const Worn& w) { return w.skin.block_axial; }, "[m]")
      .def_property_readonly(
          "block_around", [](const Worn& w) { return w.skin.block_around; }, "[m] at the reference radius")
      .def_property_readonly(
          "extent",
          [](const Worn& w) {
            return py::make_tuple(w.skin.axial_from, w.skin.axial_from + w.skin.axial * w.skin.block_axial,
                                  w.skin.around_from,
                                  w.skin.around_from + w.skin.around * w.skin.block_around);
          },
          "[m] axial from, to, around from, to")
      .def_property_readonly(
          "ground", [](const Worn& w) { return w.skin.ground; }, "the Shade of all that lies beyond")
      .def_property_readonly("notes", [](const Worn& w) { return w.skin.notes; })
      .def(
          "flat", [](const Worn& w) { return array_of(look::flat(w.skin)); },
          "uint8 [height][width][3] sRGB, unrolled, in light from everywhere; around upward.")
      .def("render", &render_worn,
           "As render of a prediction, whose keywords it takes but those of the skin itself; fast.")
      .def("__repr__", [](const Worn& w) {
        return fmt::format("<Skin {} x {} blocks of {}>", w.skin.around, w.skin.axial,
                           quantity::format(w.skin.block_axial, "um", 4));
      });
}

void bind_mark_methods() {
  const py::object marks = py::type::of<MarkMap>();
  add_method(marks, "skin", &skin,
             py::doc("The surface as it will look, a Skin.\n\nKeywords: most=1600 blocks along each side, or "
                     "finest (a block is "
                     "no larger), wiped=True (False: soot lies on it), threads=0."));
  add_method(
      marks, "render", &render,
      py::doc("The part in the round: uint8 [height][width][3] sRGB.\n\nKeywords: turn=0 (azimuth that faces "
              "the eye), "
              "tilt=\"10 deg\" (of the eye above the plane across the axis), width=720, height=960, "
              "upright=True (False: "
              "the axis lies), backdrop (\"#eceef1\"), and those of skin: wiped, most, finest, threads."));
  add_method(marks, "flat", &flat,
             py::doc("The surface unrolled, in light from everywhere: uint8 [height][width][3] sRGB, around "
                     "upward.\n\nKeywords "
                     "as of skin: wiped, most, finest, threads."));
  add_method(marks, "write_turning", &write_turning, py::arg("path"),
             py::doc("One HTML file that turns with the mouse, before and after the wipe.\n\nKeywords: "
                     "frames=48, title, lines "
                     "(said below), unwiped=True (show that too), progress, and those of render. Raises "
                     "FileError, Interrupted."));
  add_method(
      marks, "write_solid",
      [](const MarkMap& map, const py::object& path, long most) {
        const std::string to = file_path(path);
        const py::gil_scoped_release free;
        look::write_solid(to, map, most);
      },
      py::arg("path"), py::kw_only(), py::arg("most") = 1'000'000,
      py::doc("Every map on the true surface as VTKHDF (*.hdf), at most `most` points. Raises FileError."));
}

Look looked(const job::Job& job, const py::kwargs& kwargs) {
  Keywords given("look", stated(kwargs));
  look::LookRequest request;
  request.tones = take_flag(given, "tones", request.tones);
  request.letters = take_flag(given, "letters", request.letters);
  request.codes = take_flag(given, "codes", request.codes);
  request.threads = given.count("threads", request.threads);
  request.progress = take_progress(given);
  given.done();
  const py::gil_scoped_release free;
  return look::look(job, request);
}

void bind_look_type(py::module_& m) {
  py::class_<Look>(
      m, "Look",
      "All that can be said of how a job will look; print it for words, to_dict() for figures (SI).")
      .def_readonly("map", &Look::map, "the MarkMap")
      .def_readonly("contrast", &Look::contrast, "after the wipe")
      .def_readonly("unwiped", &Look::unwiped, "Contrast before it")
      .def_readonly("curves", &Look::curves, "ToneCurves by power and by the job's screen")
      .def_readonly("smallest", &Look::smallest)
      .def_readonly("lettering", &Look::lettering)
      .def_readonly("codes", &Look::codes, "CodeGrades of the codes in the art")
      .def_readonly("room", &Look::room, "CodeRoom")
      .def_readonly("notes", &Look::notes)
      .def(
          "to_dict", [](const Look& l) { return loaded(look::json(l)); },
          "The figures of the program's JSON.")
      .def("__str__", [](const Look& l) { return look::text(l); })
      .def("__repr__", [](const Look& l) {
        return fmt::format(
            "<Look{}, {} code{}>",
            l.map.scene.path ? " of a tool path" : fmt::format(" contrast {:.1f}", l.contrast.diffuse),
            l.codes.size(), l.codes.size() == 1 ? "" : "s");
      });
  m.def("look", &looked, py::arg("job"),
        "How a job will look: predicts it, then tells tones, letters, codes and room for them.\n\nKeywords: "
        "tones=True, "
        "letters=True, codes=True (what to work out), threads=0, progress. Raises JobError, ValidityError, "
        "Interrupted.");
}

}  // namespace

void bind_round(py::module_& m) {
  bind_skin(m);
  bind_mark_methods();
  bind_look_type(m);
}

}  // namespace circumfluence::bindings

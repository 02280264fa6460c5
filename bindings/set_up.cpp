// The set-up sheet, and art as it has to be fed so that it lands as it was meant.
#include "mark/set_up.h"

#include "quantity/error.h"
#include "quantity/unfinished_file.h"
#include "window_axes.h"

namespace circumfluence::bindings {

using mark::SetUp;
using motion::Band;

namespace {

// With the scene whose art it is.
struct Fed {
  SharedScene meant;
  mark::FedArt art;
};
using SharedFed = std::shared_ptr<Fed>;

py::object loaded(const std::string& json) {
  return py::module_::import("json").attr("loads")(json);
}

std::string path_text(const py::object& path) {
  return py::module_::import("os").attr("fspath")(path).cast<std::string>();
}

void save_sheet(const SetUp& sheet, const py::object& path) {
  quantity::write_whole(path_text(path), mark::sheet_html(sheet));
}

// A page has a style of its own, which must not become the notebook's.
std::string framed(const SetUp& sheet) {
  const std::string page =
      py::module_::import("html").attr("escape")(mark::sheet_html(sheet)).cast<std::string>();
  return "<iframe style=\"width: 100%; height: 1100px; border: 1px solid #ccc; background: white\" "
         "srcdoc=\"" +
         page + "\"></iframe>";
}

py::list missing(const SetUp& sheet) {
  py::list out;
  for (const mark::Lacking& one : sheet.lacking) out.append(py::make_tuple(one.key, one.gives));
  return out;
}

void bind_sheet(py::module_& m) {
  py::class_<SetUp>(
      m, "SetUp",
      "The set-up sheet of a job; print it for words, to_dict() for figures (SI), or let a notebook show it.")
      .def(
          "text", [](const SetUp& s) { return mark::sheet_text(s); }, "As words for a terminal.")
      .def(
          "html", [](const SetUp& s) { return mark::sheet_html(s); }, "As a page for paper, A4, by itself.")
      .def(
          "to_dict", [](const SetUp& s) { return loaded(mark::sheet_json(s)); },
          "The figures of the program's JSON; what the job does not state is None.")
      .def("save", &save_sheet, py::arg("path"), "Writes the page. Raises FileError.")
      .def_property_readonly(
          "duration", [](const SetUp& s) { return s.duration; }, "[s]")
      .def_property_readonly(
          "raise_by", [](const SetUp& s) { return s.stack.raise(); },
          "[m] to raise the head by; negative: the part; NaN where the job does not state enough")
      .def_property_readonly(
          "checks", [](const SetUp& s) { return s.checks; }, "in order, from switching off to putting back")
      .def_property_readonly(
          "looks", [](const SetUp& s) { return s.looks; }, "of a tool path: what the machine would do badly")
      .def_property_readonly("cautions", [](const SetUp& s) { return s.cautions; })
      .def_property_readonly("lacking", &missing, "(key, what it would say) of what the job does not state")
      .def_property_readonly("landing", [](const SetUp& s) { return s.landing; })
      .def_property_readonly(
          "bands", [](const SetUp& s) { return s.bands; }, "of a turning part's art")
      .def_property_readonly(
          "trial", [](const SetUp& s) { return s.trial.job; },
          "a Job: the art on a tube of card, to be burnt before the part; None where there is none")
      .def("_repr_html_", &framed)
      .def("__str__", [](const SetUp& s) { return mark::sheet_text(s); })
      .def("__repr__", [](const SetUp& s) {
        return fmt::format("<SetUp on {}{}, {}>", s.base, s.coat.empty() ? "" : " under " + s.coat,
                           quantity::format(s.duration, "s", 5));
      });
  m.def(
      "set_up",
      [](const py::object& job, const py::object& tube_wall) {
        const SharedScene scene = scene_of(job);
        const double wall = si(tube_wall, "mm");
        if (!(wall > 0)) throw quantity::ValidityError("tube_wall (expected above 0 mm)");
        const py::gil_scoped_release free;
        return mark::set_up(*scene, wall);
      },
      py::arg("job"), py::kw_only(), py::arg("tube_wall") = "1 mm",
      "What a person needs at the machine before the beam goes on.\n\n`job` is a Job or a prepared Scene; "
      "tube_wall: of the card "
      "tube for the trial. Raises JobError, ValidityError.");
}

SharedFed pre_distort(const py::object& job, const py::kwargs& kwargs) {
  Keywords given("pre_distort", stated(kwargs));
  auto out = std::make_shared<Fed>();
  mark::FeedWish wish;
  constexpr const char* kTruths[] = {"level", "developed"};
  constexpr const char* kMirrors[] = {"none", "axial", "around", "both"};
  wish.truth = motion::Truth(given.choice("truth", kTruths, 0));
  wish.pixel = given.number("pixel", "mm", wish.pixel);
  if (given.has("mirror")) wish.flip = artwork::Mirror(given.choice("mirror", kMirrors, 0));
  wish.invert = take_flag(given, "invert", wish.invert);
  wish.threads = given.count("threads", wish.threads);
  given.done();
  out->meant = scene_of(job);
  const py::gil_scoped_release free;
  out->art = mark::pre_distort(*out->meant, wish);
  return out;
}

void save_art(const Fed& self, const py::object& path) {
  const std::string to = path_text(path);
  const py::gil_scoped_release free;
  artwork::write_image(self.art.image, self.art.pixel, to);
}

void bind_fed(py::module_& m) {
  py::class_<Fed, SharedFed>(m, "FedArt",
                             "Art as it has to be fed to the machine; print it for what was done to it.")
      .def_property_readonly(
          "image",
          [](const SharedFed& f) {
            return view(f->art.image.tone.data(), {f->art.image.height, f->art.image.width}, f);
          },
          "uint16 [height][width], 0 black to 65535 white, along the axis to the right, around upward: row 0 "
          "is the greatest arc.")
      .def_property_readonly(
          "extent",
          [](const Fed& f) {
            const artwork::Extent& e = f.art.extent;
            return py::dict(py::arg("axial_from") = e.axial_from, py::arg("axial_to") = e.axial_to,
                            py::arg("around_from") = e.around_from, py::arg("around_to") = e.around_to);
          },
          "[m] of the fed plane that it covers, as a Scene's art")
      .def_property_readonly(
          "pixel", [](const Fed& f) { return f.art.pixel; }, "[m] each way")
      .def_property_readonly(
          "burns", [](const Fed& f) { return f.art.burns == artwork::Burns::dark ? "dark" : "light"; })
      .def_property_readonly(
          "bands", [](const Fed& f) { return f.art.bands; }, "of a turning part")
      .def_property_readonly("words", [](const Fed& f) { return f.art.words; })
      .def("save", &save_art, py::arg("path"), "Writes it as a PNG that knows its size. Raises FileError.")
      .def("__str__", [](const Fed& f) { return f.art.words; })
      .def("__repr__", [](const Fed& f) {
        return fmt::format("<FedArt {} x {} px of {}>", f.art.image.width, f.art.image.height,
                           quantity::format(f.art.pixel, "mm", 5));
      });
  m.def("pre_distort", &pre_distort, py::arg("job"),
        "A job's art, whose sizes are meant on the part's own surface, as it has to be fed so that it lands "
        "so.\n\n"
        "Keywords: truth=\"level\" (lines stay parallel to the rim) or \"developed\" (a flat label laid on a "
        "cone), pixel (the\n"
        "line spacing or a third of the spot), mirror (\"none\", \"axial\", \"around\", \"both\": what the "
        "machine does to it; what\n"
        "[mount] says if left out), invert=True (what is burnt is written black), threads=0. `job` is a Job "
        "or a prepared\n"
        "Scene. Raises JobError where the art cannot lie so.");
  m.def(
      "fed_job",
      [](const Fed& art, const py::object& file) {
        return mark::fed_job(*art.meant, art.art, path_text(file));
      },
      py::arg("art"), py::arg("file"),
      "The job that burns pre-distorted art from the file it was saved to; the path is relative to the job's "
      "folder.");
}

}  // namespace

void bind_set_up(py::module_& m) {
  bind_sheet(m);
  bind_fed(m);
}

}  // namespace circumfluence::bindings

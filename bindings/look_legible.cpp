// Letters and codes.
#include "calibration_given.h"
#include "look/code.h"
#include "look/lettering.h"
#include "look_given.h"

namespace circumfluence::bindings {

using look::CodeGrade;
using look::CodeRoom;
using look::Finest;
using look::Lettering;
using look::Symbol;

namespace {

std::string letter(look::Letter grade) {
  return {look::kLetters[int(grade)]};
}

std::string words_for(const Finest& f) {
  return std::isfinite(f.drawn) ? quantity::format(f.drawn, "um", 3) : "none";
}

void bind_lettering(py::module_& m) {
  py::class_<Finest>(m, "Finest",
                     "The drawn width from which a stroke or a gap comes out, and how wide it then is.")
      .def_readonly("drawn", &Finest::drawn, "[m]; infinity: none up to 16 spots")
      .def_readonly("marked", &Finest::marked, "[m]")
      .def("__repr__", [](const Finest& f) { return "<Finest " + words_for(f) + ">"; });
  py::class_<Lettering>(m, "Lettering", "How small letters may be.")
      .def_readonly("stroke_along", &Lettering::stroke_along, "along the lines")
      .def_readonly("stroke_across", &Lettering::stroke_across)
      .def_readonly("gap_along", &Lettering::gap_along)
      .def_readonly("gap_across", &Lettering::gap_across)
      .def_readonly("growth", &Lettering::growth, "[m] by which strokes come out wider than drawn")
      .def_readonly("made", &Lettering::made, "[m] height of capitals that the process can make")
      .def_readonly("read", &Lettering::read, "[m] height of capitals that the eye reads 0.5 m away")
      .def_readonly("height", &Lettering::height, "[m] the greater of both")
      .def_readonly("notes", &Lettering::notes)
      .def("__repr__", [](const Lettering& l) {
        return fmt::format("<Lettering capitals from {}, strokes from {} and {}, gaps from {} and {}>",
                           quantity::format(l.height, "mm", 3), words_for(l.stroke_along),
                           words_for(l.stroke_across), words_for(l.gap_along), words_for(l.gap_across));
      });
  m.def(
      "lettering",
      [](const py::object& job, bool wiped, const py::object& progress) {
        const SharedProcess process = process_of(job);
        const quantity::Progress report = python_progress(progress);
        const py::gil_scoped_release free;
        return look::lettering(process->swatches, process->finish(wiped), report);
      },
      py::arg("job"), py::kw_only(), py::arg("wiped") = true, py::arg("progress") = py::none(),
      "The thinnest strokes and gaps that come out, and the height of letters made of them. `job` is a Job, "
      "a prepared "
      "Scene or Swatches.");
  m.def(
      "words",
      [](const std::string& text, const py::object& height, const py::object& pixel) {
        return array_of(look::words(text, si(height, "mm"), si(pixel, "um")));
      },
      py::arg("text"), py::kw_only(), py::arg("height"), py::arg("pixel"),
      "A line of words as art, uint16 [height][width], black on white: `height` its capitals, `pixel` a "
      "pixel.");
}

void bind_symbol(py::module_& m) {
  py::class_<Symbol>(m, "Symbol", "A code as it lies in a picture.")
      .def_property_readonly("kind", [](const Symbol& s) { return look::kSymbologyNames[int(s.kind)]; })
      .def_readonly("text", &Symbol::text)
      .def_readonly("columns", &Symbol::columns, "modules")
      .def_readonly("rows", &Symbol::rows, "modules")
      .def_property_readonly(
          "corners",
          [](const Symbol& s) {
            std::vector<double> out;
            for (const artwork::PicturePoint& p : s.corners) out.insert(out.end(), {p.column, p.row});
            return taken(std::move(out), {4, 2});
          },
          "[4][column, row] [px], from the upper left one, clockwise as it is read")
      .def_property_readonly(
          "dark",
          [](const Symbol& s) {
            return taken(s.dark, {s.rows, s.columns});
          },
          "uint8 [row][column], 1 where the art's module is dark")
      .def_readonly("inverted", &Symbol::inverted, "light on dark in the picture")
      .def_readonly("mirrored", &Symbol::mirrored, "its corners lie anticlockwise")
      .def("__repr__", [](const Symbol& s) {
        return fmt::format("<Symbol {} {} x {}: {}>", look::kSymbologyNames[int(s.kind)], s.columns, s.rows,
                           s.text);
      });
  m.def(
      "find_symbols",
      [](const py::object& art) {
        if (py::hasattr(art, "__array__") && py::array(art).ndim() == 3) {
          const appearance::Pixels pixels = pixels_of(art);
          const py::gil_scoped_release free;
          return look::read_symbols(pixels);
        }
        const artwork::Image image = image_of(art);
        const py::gil_scoped_release free;
        return look::find_symbols(image);
      },
      py::arg("picture"),
      "The QR codes and Data Matrix symbols that read in a picture: a path, an Image, an array of tones, or "
      "a coloured one "
      "such as render gives.");
}

py::dict grades_of(const CodeGrade& g) {
  py::dict out;
  out["contrast"] = letter(g.by_contrast), out["modulation"] = letter(g.by_modulation);
  out["nonuniformity"] = letter(g.by_nonuniformity), out["cell"] = letter(g.by_cell);
  return out;
}

void bind_grade(py::module_& m) {
  py::class_<CodeGrade>(m, "CodeGrade",
                        "What process and curve leave of a code, by ISO/IEC 15415's definitions.")
      .def_readonly("symbol", &CodeGrade::symbol,
                    "in the art; without modules where one was meant but does not read")
      .def_readonly("module_axial", &CodeGrade::module_axial, "[m] on the part")
      .def_readonly("module_around", &CodeGrade::module_around, "[m]")
      .def_readonly("spots", &CodeGrade::spots, "[1] a module's edge over the spot's 1/e^2 diameter")
      .def_readonly("growth_axial", &CodeGrade::growth_axial,
                    "[1] by how much a burnt module is too wide, over a module")
      .def_readonly("growth_around", &CodeGrade::growth_around, "[1]")
      .def_readonly("symbol_contrast", &CodeGrade::symbol_contrast, "[1]")
      .def_readonly("modulation", &CodeGrade::modulation, "[1]")
      .def_readonly("nonuniformity", &CodeGrade::nonuniformity, "[1]")
      .def_readonly("cell_contrast", &CodeGrade::cell_contrast, "[1] of ISO/IEC 29158")
      .def_property_readonly(
          "overall", [](const CodeGrade& g) { return letter(g.overall); }, "\"A\" to \"D\", or \"F\"")
      .def_property_readonly("grades", &grades_of,
                             "by contrast, modulation, nonuniformity; cell: of ISO/IEC 29158")
      .def_readonly("flipped", &CodeGrade::flipped, "modules on the wrong side of the threshold")
      .def_readonly("turned", &CodeGrade::turned,
                    "[rad] how far its edge lies round the curve from its middle")
      .def_readonly("reads", &CodeGrade::reads, "by a reader, as seen")
      .def_readonly("reads_inverted", &CodeGrade::reads_inverted, "only with light and dark exchanged")
      .def_readonly("notes", &CodeGrade::notes)
      .def("__repr__", [](const CodeGrade& g) {
        return fmt::format("<CodeGrade {} of {} {}: {}>", letter(g.overall),
                           look::kSymbologyNames[int(g.symbol.kind)], g.symbol.text,
                           g.reads            ? "reads"
                           : g.reads_inverted ? "reads inverted"
                                              : "does not read");
      });
}

std::vector<CodeGrade> codes_of(const mark::MarkMap& map, bool wiped, int threads) {
  const py::gil_scoped_release free;
  const std::optional<double> finest = look::finest_for_codes(map.scene);
  if (!finest) return {};
  return look::grade_codes(map,
                           look::skin(map, {.finest = *finest, .wipe = wipe_of(wiped), .threads = threads}));
}

appearance::Pixels code_view(const mark::MarkMap& map, const Symbol& symbol, bool wiped, int threads) {
  const py::gil_scoped_release free;
  const double finest = look::finest_for_codes(map.scene).value_or(0);
  return look::code_view(map, look::skin(map, {.finest = finest, .wipe = wipe_of(wiped), .threads = threads}),
                         symbol);
}

void bind_room(py::module_& m) {
  py::class_<CodeRoom>(m, "CodeRoom", "What would scan on this part with these settings.")
      .def_readonly("least_module", &CodeRoom::least_module,
                    "[m] from which a QR code of version 2 reads; infinity: none")
      .def_readonly("most_modules", &CodeRoom::most_modules,
                    "a side of the largest QR code of that module; 0: none")
      .def_readonly("widest", &CodeRoom::widest, "[m] its edge on the surface")
      .def_readonly("inverted", &CodeRoom::inverted, "light marks on dark ground")
      .def("__repr__", [](const CodeRoom& r) {
        return r.most_modules ? fmt::format("<CodeRoom modules from {}, up to {} of them a side>",
                                            quantity::format(r.least_module, "mm", 3), r.most_modules)
                              : std::string("<CodeRoom none>");
      });
  m.def(
      "code_room",
      [](const py::object& job, bool wiped, const py::object& progress) {
        const SharedProcess process = process_of(job);
        const quantity::Progress report = python_progress(progress);
        const py::gil_scoped_release free;
        return look::code_room(process->swatches, process->finish(wiped), report);
      },
      py::arg("job"), py::kw_only(), py::arg("wiped") = true, py::arg("progress") = py::none(),
      "The smallest module that scans, and the largest code of it around this diameter. `job` is a Job, a "
      "prepared Scene "
      "or Swatches.");
}

}  // namespace

void bind_legible(py::module_& m) {
  bind_lettering(m);
  bind_symbol(m);
  bind_grade(m);
  bind_room(m);
  const py::object marks = py::type::of<mark::MarkMap>();
  add_method(marks, "codes", &codes_of, py::kw_only(), py::arg("wiped") = true, py::arg("threads") = 0,
             py::doc("The codes in the art, graded as a camera sees them on the part: a list of CodeGrade."));
  add_method(
      marks, "code_view",
      [](const mark::MarkMap& map, const Symbol& symbol, bool wiped, int threads) {
        return array_of(code_view(map, symbol, wiped, threads));
      },
      py::arg("symbol"), py::kw_only(), py::arg("wiped") = true, py::arg("threads") = 0,
      py::doc("A code of the art as the camera sees it on the part: uint8 [height][width][3] sRGB."));
}

}  // namespace circumfluence::bindings

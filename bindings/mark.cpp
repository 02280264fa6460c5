// Predictions, their maps, verdicts and files.
#include <fmt/format.h>

#include <cstring>

#include "bind.h"
#include "mark/mark_file.h"
#include "mark/predict.h"

namespace circumfluence::bindings {

using mark::Layer;
using mark::MarkFile;
using mark::MarkMap;
using mark::Scene;
using mark::Verdict;

namespace {

py::dict states(const std::array<double, 4>& share) {
  py::dict out;
  const char* names[4] = {"untouched", "under_marked", "marked", "over_burned"};
  for (int i = 0; i < 4; ++i) out[names[i]] = share[i];
  return out;
}

void bind_verdict(py::module_& m) {
  py::class_<Verdict>(m, "Verdict",
                      "What a prediction comes to; print it for words, to_dict() for figures (SI).")
      .def_property_readonly(
          "ruling", [](const Verdict& v) { return mark::kRulingNames[int(v.ruling)]; },
          "\"leaves no mark\", \"under-marks\", \"marks\" or \"over-burns\"")
      .def_property_readonly(
          "wanted", [](const Verdict& v) { return states(v.wanted); },
          "Shares of the wanted area by outcome.")
      .def_property_readonly(
          "unwanted", [](const Verdict& v) { return states(v.unwanted); },
          "Shares of the area that the art leaves alone.")
      .def_readonly("power", &Verdict::power, "[W] set at the source")
      .def_readonly("rated_power", &Verdict::rated_power, "[W] the most that the laser gives")
      .def_readonly("stripes", &Verdict::stripes, "whether lines are marked but too little between them")
      .def_readonly("wanted_area", &Verdict::wanted_area, "[m^2]")
      .def_readonly("unwanted_area", &Verdict::unwanted_area, "[m^2]")
      .def_readonly("least_factor", &Verdict::least_factor, "[1] on power, below which too little is marked")
      .def_readonly("greatest_factor", &Verdict::greatest_factor,
                    "[1] on power, above which too much is over-burned")
      .def_readonly("chance_marks", &Verdict::chance_marks,
                    "[1] from the spreads of the material figures alone")
      .def_readonly("chance_spares", &Verdict::chance_spares, "[1] that it doesn't over-burn, likewise")
      .def_property_readonly(
          "limiting", [](const Verdict& v) { return py::make_tuple(v.limiting.axial, v.limiting.around); },
          "(axial, around) [m] where the nearer margin ends")
      .def_readonly("hottest", &Verdict::hottest, "[K]")
      .def_property_readonly("melted_depth", [](const Verdict& v) { return v.melt.depth; }, "[m] at the hottest place")
      .def_property_readonly("melted_width", [](const Verdict& v) { return v.melt.width; }, "[m] at the hottest place")
      .def_readonly("softened", &Verdict::softened, "[1] share of the lines' places where the wall is warm enough to soften the coat")
      .def_readonly("warmest_wall", &Verdict::warmest_wall, "[K] of the wall where and when a line came to it")
      .def_readonly("duration", &Verdict::duration, "[s]")
      .def_readonly("lines", &Verdict::lines)
      .def_readonly("notes", &Verdict::notes)
      .def_readonly("cautions", &Verdict::cautions)
      .def(
          "to_dict",
          [](const Verdict& v) { return py::module_::import("json").attr("loads")(mark::json(v)); },
          "The figures of the JSON verdict; infinities are None.")
      .def("__str__", [](const Verdict& v) { return mark::text(v); })
      .def("__repr__", [](const Verdict& v) {
        return fmt::format("<Verdict {}: {:.1f} % of the wanted area marked, power factors {:.3g} to {:.3g}>",
                           mark::kRulingNames[int(v.ruling)], 100 * v.wanted[2], v.least_factor,
                           v.greatest_factor);
      });
}

void bind_stages(py::module_& m) {
  py::class_<Scene, std::shared_ptr<Scene>>(m, "Scene",
                                            "A job made ready: files read, records found, geometry settled.")
      .def_readonly("job", &Scene::job)
      .def_readonly("base", &Scene::base)
      .def_readonly("coat", &Scene::coat)
      .def_readonly("profile", &Scene::profile)
      .def_readonly("reference_radius", &Scene::reference_radius, "[m]")
      .def_readonly("focus_at", &Scene::focus_at, "[m] axial position")
      .def_property_readonly("power", &Scene::power, "[W] set at the source")
      .def_property_readonly(
          "art",
          [](const Scene& s) {
            py::dict out;
            out["axial_from"] = s.art.axial_from, out["axial_to"] = s.art.axial_to;
            out["around_from"] = s.art.around_from, out["around_to"] = s.art.around_to;
            return out;
          },
          "[m] the rectangle that the fed art covers")
      .def("__repr__", [](const Scene& s) {
        return fmt::format("<Scene {}{}, {}>", s.base.name, s.coat ? " under " + s.coat->name : "",
                           quantity::format(s.power(), "W"));
      });
  m.def(
      "prepare", [](const job::Job& job) { return std::make_shared<Scene>(mark::prepare(job)); },
      py::arg("job"),
      "First stage: reads the picture, finds the records. Raises JobError when the art does not fit the "
      "part.");
  m.def("develop", &mark::develop, py::arg("scene"), "The part unrolled into cells.");
  m.def("plan", &mark::plan, py::arg("scene"), "The lines of the fill.");
  m.def("expose", &mark::expose, py::arg("scene"), py::arg("surface"), py::arg("raster"),
        "The events that reach each row of cells.");
  m.def("respond", py::overload_cast<const Scene&, const exposure::Exposure&>(&mark::respond), py::arg("scene"), py::arg("exposure"),
        "The part's answer as numbers; ValidityError names what a record lacks.");
}

MarkMap predicted(const job::Job& job, const py::object& file, bool compact, int threads,
                  const py::object& progress, bool keep, bool warming) {
  mark::Request request;
  request.warming = warming;
  request.file = file.is_none() ? "" : py::str(file).cast<std::string>();
  request.compact = compact;
  request.keep = keep;
  request.threads = threads;
  request.progress = python_progress(progress);
  const py::gil_scoped_release free;
  return mark::predict(job, request);
}

mark::PictureKind picture_of(const std::string& kind) {
  if (kind == "outcome") return mark::PictureKind::outcome;
  if (kind == "view") return mark::PictureKind::view;
  throw py::value_error("kind = \"" + kind + "\" (expected \"outcome\" or \"view\")");
}

py::array picture(const MarkMap& map, const std::string& kind) {
  const appearance::Pixels pixels = mark::pixels(map, picture_of(kind));
  std::vector<std::uint8_t> bytes(pixels.rgb.size() * 3);
  std::memcpy(bytes.data(), pixels.rgb.data(), bytes.size());
  return taken(std::move(bytes), {pixels.height, pixels.width, 3});
}

void write_picture(const MarkMap& map, const std::string& path, const std::string& kind) {
  mark::write_picture(map, picture_of(kind), path);
}

void bind_wall(py::module_& m) {
  using mark::WallMap;
  py::class_<WallMap>(m, "WallMap",
                      "The wall's own temperature when the beam came, by coarse cells; empty when not worked out.")
      .def_property_readonly("around", [](const WallMap& w) { return taken(w.around); }, "[m] cell centres")
      .def_property_readonly("axial", [](const WallMap& w) { return taken(w.axial); }, "[m] cell centres")
      .def_property_readonly(
          "temperature",
          [](const WallMap& w) {
            return taken(w.temperature, {py::ssize_t(w.around.size()), py::ssize_t(w.axial.size())});
          },
          "float32 [K] [around][axial], the highest of each cell")
      .def("__repr__", [](const WallMap& w) {
        return fmt::format("<WallMap {} x {} cells>", w.around.size(), w.axial.size());
      });
}

void bind_map(py::module_& m) {
  py::class_<MarkMap>(m, "MarkMap", "A prediction: maps [around][axial] as read-only views, axes, verdict.")
      .def_property_readonly(
          "fluence", [](const MarkMap& s) { return view(s.maps.fluence); },
          "float32 [J/m^2] incident, all events")
      .def_property_readonly(
          "changed", [](const MarkMap& s) { return view(s.maps.changed); },
          "float32 [m]: coat removed, dyed layer bleached, oxide grown on bare metal, organic body gone or charred")
      .def_property_readonly(
          "peak_temperature", [](const MarkMap& s) { return view(s.maps.peak_temperature); },
          "float32 [K] of the base")
      .def_property_readonly(
          "margin", [](const MarkMap& s) { return view(s.maps.margin); },
          "float32 [1] factor on power at which the cell just becomes marked")
      .def_property_readonly(
          "outcome", [](const MarkMap& s) { return view(s.maps.outcome); },
          "uint8: 0 untouched, 1 under-marked, 2 marked, 3 over-burned")
      .def_property_readonly(
          "wanted", [](const MarkMap& s) { return view(s.maps.wanted); },
          "uint8: 1 where the art wants a mark")
      .def_property_readonly(
          "around", [](const MarkMap& s) { return py::object(py::cast(s.surface).attr("around")); },
          "[m] arc at the reference radius, cell centres")
      .def_property_readonly(
          "axial", [](const MarkMap& s) { return py::object(py::cast(s.surface).attr("axial")); },
          "[m] cell centres")
      .def_property_readonly(
          "radius", [](const MarkMap& s) { return taken(s.surface.radius); }, "[m] by column")
      .def_property_readonly(
          "angle",
          [](const MarkMap& s) {
            std::vector<double> angles;
            for (int row = 0; row < s.surface.around; ++row) angles.push_back(s.surface.azimuth(row));
            return taken(std::move(angles));
          },
          "[rad] azimuth of each row")
      .def_readonly("surface", &MarkMap::surface)
      .def_readonly("raster", &MarkMap::raster)
      .def_readonly("verdict", &MarkMap::verdict)
      .def_readonly("wall", &MarkMap::wall)
      .def_property_readonly("job", [](const MarkMap& s) { return s.scene.job; })
      .def("picture", &picture, py::arg("kind") = "outcome",
           "uint8 [height][width][3] sRGB, around upward; kind \"outcome\" or \"view\" (what the eye would "
           "see).")
      .def("write_picture", &write_picture, py::arg("path"), py::arg("kind") = "outcome",
           "A PNG with rulers, title and legend.")
      .def("__repr__", [](const MarkMap& s) {
        return fmt::format("<MarkMap {} x {} cells: {}>", s.surface.around, s.surface.axial,
                           mark::kRulingNames[int(s.verdict.ruling)]);
      });
  m.def("predict", &predicted, py::arg("job"), py::kw_only(), py::arg("file") = py::none(),
        py::arg("compact") = false, py::arg("threads") = 0, py::arg("progress") = py::none(),
        py::arg("keep") = true, py::arg("warming") = true,
        "From a job to its mark map: the whole road.\n\nfile: where to write the file of record too; "
        "compact: compress it; threads: 0 means all; keep=False returns no maps; "
        "warming=False leaves out the heat that earlier lines left in the wall; progress: called with the "
        "share done, returning False "
        "stops (Interrupted).\nCtrl-C stops within a fraction of a second and leaves no partial "
        "file.\nRaises JobError, ValidityError, FileError.");
}

py::array layer(const MarkFile& file, const std::string& name) {
  const auto rows = static_cast<py::ssize_t>(file.header().around.size()),
             columns = static_cast<py::ssize_t>(file.header().axial.size());
  for (int i = 0; i < mark::kLayers; ++i) {
    if (name != mark::layers()[i].name) continue;
    if (mark::layers()[i].flags) {
      std::vector<std::uint8_t> cells(size_t(rows * columns));
      file.read(Layer(i), cells.data());
      return taken(std::move(cells), {rows, columns});
    }
    std::vector<float> cells(size_t(rows * columns));
    file.read(Layer(i), cells.data());
    return taken(std::move(cells), {rows, columns});
  }
  throw py::key_error(name);
}

}  // namespace

void bind_mark(py::module_& m) {
  bind_verdict(m);
  bind_stages(m);
  bind_wall(m);
  bind_map(m);
  py::dict table;
  for (const mark::LayerInfo& info : mark::layers())
    table[info.name] = py::make_tuple(info.unit, info.long_name, info.flags, info.meanings);
  m.attr("layers") = table;
  py::class_<MarkFile>(m, "MarkFile", "A file of record read back; maps are read when asked for.")
      .def(py::init([](const py::object& path) {
             return std::make_unique<MarkFile>(py::str(path).cast<std::string>());
           }),
           py::arg("path"))
      .def_property_readonly(
          "around", [](const MarkFile& f) { return taken(f.header().around); }, "[m]")
      .def_property_readonly(
          "axial", [](const MarkFile& f) { return taken(f.header().axial); }, "[m]")
      .def_property_readonly(
          "angle", [](const MarkFile& f) { return taken(f.header().angle); }, "[rad]")
      .def_property_readonly(
          "radius", [](const MarkFile& f) { return taken(f.header().radius); }, "[m]")
      .def_property_readonly("job_text", [](const MarkFile& f) { return f.header().job_text; })
      .def_property_readonly("materials", [](const MarkFile& f) { return f.header().materials; })
      .def_property_readonly(
          "summary",
          [](const MarkFile& f) {
            py::dict out;
            for (const mark::SummaryEntry& e : f.summary().figures) out[e.name.c_str()] = e.value;
            for (const auto& [name, text] : f.summary().words) out[name.c_str()] = text;
            return out;
          },
          "Figures (SI) and words of the verdict.")
      .def_property_readonly("wall", [](const MarkFile& f) { return f.wall(); })
      .def("__getitem__", &layer, py::arg("layer"), "A map by name, [around][axial].")
      .def("__repr__", [](const MarkFile& f) {
        return fmt::format("<MarkFile {} x {} cells>", f.header().around.size(), f.header().axial.size());
      });
}

}  // namespace circumfluence::bindings

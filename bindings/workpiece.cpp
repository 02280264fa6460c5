// Parts, their unrolled surface, material records.
#include <fmt/format.h>

#include "bind.h"
#include "job/material_file.h"
#include "workpiece/material.h"
#include "workpiece/profile.h"
#include "workpiece/surface.h"

namespace circumfluence::bindings {

using workpiece::Material;
using workpiece::Optics;
using workpiece::Profile;
using workpiece::Surface;

namespace {

py::dict local_geometry(const Profile& profile, const py::object& axial, const py::object& azimuth) {
  const py::array_t<double> u = si_array(axial, "mm"), phi = si_array(azimuth, "deg");
  py::dict out;
  out["height"] = py::vectorize([&profile](double x, double a) { return profile.at(x, a).height; })(u, phi);
  out["incidence"] =
      py::vectorize([&profile](double x, double a) { return profile.at(x, a).incidence; })(u, phi);
  return out;
}

template <class Value>
py::array by_cell(int count, const Value& value) {
  std::vector<double> values;
  for (int i = 0; i < count; ++i) values.push_back(value(i));
  return taken(std::move(values));
}

void bind_records(py::module_& m) {
  using quantity::Figure;
  py::class_<Figure>(
      m, "Figure",
      "A figure of a record: value (SI; NaN when unknown), spread (sigma of the logarithm), source.")
      .def_readonly("value", &Figure::value)
      .def_readonly("spread", &Figure::spread)
      .def_readonly("source", &Figure::source)
      .def("__repr__", [](const Figure& f) {
        return f.known() ? fmt::format("Figure({:.6g}, spread {:.2g}, \"{}\")", f.value, f.spread, f.source)
                         : std::string("Figure(unknown)");
      });
  py::class_<Optics>(m, "Optics", "How light of one wavelength meets a material.")
      .def_property_readonly(
          "wavelength", [](const Optics& o) { return o.wavelength.value; }, "[m]")
      .def_readonly("absorptivity", &Optics::absorptivity)
      .def_readonly("n", &Optics::n)
      .def_readonly("k", &Optics::k)
      .def_readonly("depth", &Optics::depth)
      .def("__repr__", [](const Optics& o) {
        return fmt::format("<Optics at {}>", quantity::format(o.wavelength.value, "nm"));
      });
}

void bind_material(py::module_& m) {
  using quantity::Figure;
  bind_records(m);
  py::class_<Material> material(m, "Material", "A material record; every figure carries its source.");
  material.def_readonly("name", &Material::name)
      .def_readonly("title", &Material::title)
      .def_readonly("origin", &Material::origin)
      .def_readonly("cautions", &Material::cautions)
      .def_readonly("optics", &Material::optics)
      .def_property_readonly("text", &job::write_material, "The record as TOML.")
      .def(
          "optics_at",
          [](const Material& self, const py::object& wavelength) {
            return workpiece::optics_at(self, si(wavelength, "nm"));
          },
          py::arg("wavelength"), "The optics at a wavelength; ValidityError names the ones on record.")
      .def("__repr__",
           [](const Material& self) { return fmt::format("<Material {}: {}>", self.name, self.title); });
  for (const auto& field : workpiece::material_fields())
    if (const auto* member = std::get_if<Figure Material::*>(&field.member))
      material.def_property_readonly(
          field.key, [which = *member](const Material& self) { return self.*which; },
          fmt::format("{} [SI; {} in files]", field.help, field.unit).c_str());
  m.def(
      "parse_materials", [](const std::string& text) { return job::parse_materials(text, "materials"); },
      py::arg("text"),
      "Records from the TOML of a material file. Raises JobError; a figure without a source is refused.");
  m.def(
      "materials", [] { return job::material_names({}); },
      "Names of the records that are known without a job.");
  m.def(
      "material", [](const std::string& name) { return job::find_material(name, {}); }, py::arg("name"),
      "The record of that name; JobError suggests the nearest.");
}

void bind_surface(py::module_& m) {
  py::class_<Surface>(m, "Surface", "The part unrolled into cells, [around][axial].")
      .def_property_readonly("shape", [](const Surface& s) { return py::make_tuple(s.around, s.axial); })
      .def_property_readonly(
          "around", [](const Surface& s) { return by_cell(s.around, [&s](int i) { return s.arc(i); }); },
          "[m] arc at the reference radius, cell centres")
      .def_property_readonly(
          "axial", [](const Surface& s) { return by_cell(s.axial, [&s](int i) { return s.position(i); }); },
          "[m] cell centres")
      .def_property_readonly(
          "radius", [](const Surface& s) { return taken(s.radius); }, "[m] by column")
      .def_property_readonly(
          "cell_area",
          [](const Surface& s) { return by_cell(s.axial, [&s](int i) { return s.cell_area(i); }); },
          "[m^2] on the true surface, by column")
      .def_readonly("cell_around", &Surface::cell_around, "[m]")
      .def_readonly("cell_axial", &Surface::cell_axial, "[m]")
      .def_readonly("reference_radius", &Surface::reference_radius, "[m]")
      .def_readonly("closed", &Surface::closed, "whether the last row meets the first")
      .def("__repr__", [](const Surface& s) {
        return fmt::format("<Surface {} rows around x {} columns along>", s.around, s.axial);
      });
}

}  // namespace

void bind_workpiece(py::module_& m) {
  bind_material(m);
  bind_surface(m);
  py::class_<Profile>(m, "Profile", "The radius of a part along its axis, and how light from above meets it.")
      .def_property_readonly("length", &Profile::length, "[m]")
      .def_property_readonly("greatest_radius", &Profile::greatest_radius, "[m]")
      .def(
          "radius",
          [](const Profile& self, const py::object& axial) {
            return py::vectorize([&self](double u) { return self.radius(u); })(si_array(axial, "mm"));
          },
          py::arg("axial"), "[m] at axial positions [m]; same shape.")
      .def(
          "slope",
          [](const Profile& self, const py::object& axial) {
            return py::vectorize([&self](double u) { return self.slope(u); })(si_array(axial, "mm"));
          },
          py::arg("axial"), "d radius / d axial [1]; same shape.")
      .def("at", &local_geometry, py::arg("axial"), py::arg("azimuth"),
           "Local geometry by axial position [m] and azimuth from top dead centre [rad], "
           "broadcast:\n{'height': [m] above "
           "the axis, 'incidence': cosine between beam and normal}.")
      .def("__repr__", [](const Profile& self) {
        return fmt::format("<Profile {} long, radius up to {}>", quantity::format(self.length(), "mm"),
                           quantity::format(self.greatest_radius(), "mm"));
      });
  m.def(
      "sagitta",
      [](const py::object& radius, const py::object& lateral) {
        return py::vectorize([](double r, double y) { return workpiece::sagitta(r, y); })(
            si_array(radius, "mm"), si_array(lateral, "mm"));
      },
      py::arg("radius"), py::arg("lateral"),
      "How far a cylinder has fallen away at a lateral distance from its crest [m], broadcast.");
}

}  // namespace circumfluence::bindings

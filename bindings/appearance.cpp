// Colour.
#include <pybind11/complex.h>

#include "appearance/colour.h"
#include "appearance/thin_film.h"
#include "bind.h"
#include "job/material_file.h"

namespace circumfluence::bindings {
namespace {

using Complex = std::complex<double>;

py::tuple film_lab(const std::string& name, double thickness, const std::optional<Complex>& film, double uneven) {
  const workpiece::Material& material = job::find_material(name, {});
  const appearance::Index body = appearance::index_of(material.spectrum, name.c_str());
  const appearance::Index over = film ? appearance::even_index(*film)
                                      : appearance::index_of(material.oxide_spectrum, ("the oxide on " + name).c_str());
  const appearance::Lab lab =
      appearance::lab_from_xyz(appearance::seen(appearance::film_reflectance(over, body, {thickness, uneven})));
  return py::make_tuple(lab.l, lab.a, lab.b);
}

}  // namespace

void bind_appearance(py::module_& m) {
  m.def(
      "lab_from_srgb",
      [](const std::array<int, 3>& rgb) {
        const appearance::Lab lab = appearance::lab_from_srgb(
            {static_cast<std::uint8_t>(rgb[0]), static_cast<std::uint8_t>(rgb[1]), static_cast<std::uint8_t>(rgb[2])});
        return py::make_tuple(lab.l, lab.a, lab.b);
      },
      py::arg("rgb"), "CIE L*a*b* (D65, 2 degrees) of an sRGB colour, 0 to 255 each.");
  m.def(
      "ciede2000",
      [](const std::array<double, 3>& one, const std::array<double, 3>& other) {
        return appearance::ciede2000({one[0], one[1], one[2]}, {other[0], other[1], other[2]});
      },
      py::arg("one"), py::arg("other"), "Colour difference CIEDE2000 of two L*a*b* colours (Sharma, Wu, Dalal 2005).");
  m.def(
      "film_reflectance",
      [](Complex film, Complex body, double thickness, double wavelength, double incidence) {
        return appearance::reflectance({film, body, thickness}, wavelength, incidence);
      },
      py::arg("film"), py::arg("body"), py::arg("thickness"), py::arg("wavelength"), py::arg("incidence") = 1.0,
      "Share of unpolarised light that a body reflects through a film: indices n + ik, thickness and wavelength [m], "
      "cosine "
      "of the angle of incidence.");
  m.def("film_lab", &film_lab, py::arg("material"), py::arg("thickness"), py::arg("film") = py::none(),
        py::arg("uneven") = 0.0,
        "CIE L*a*b* (D65, 2 degrees) of a metal on record under its oxide, or under a film of one index n + ik: mean "
        "thickness [m], its standard deviation over the mean. ValidityError where the record has no spectrum.");
}

}  // namespace circumfluence::bindings

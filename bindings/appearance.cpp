// Colour.
#include "appearance/colour.h"
#include "bind.h"

namespace circumfluence::bindings {

void bind_appearance(py::module_& m) {
  m.def(
      "lab_from_srgb",
      [](const std::array<int, 3>& rgb) {
        const appearance::Lab lab =
            appearance::lab_from_srgb({static_cast<std::uint8_t>(rgb[0]), static_cast<std::uint8_t>(rgb[1]),
                                       static_cast<std::uint8_t>(rgb[2])});
        return py::make_tuple(lab.l, lab.a, lab.b);
      },
      py::arg("rgb"), "CIE L*a*b* (D65, 2 degrees) of an sRGB colour, 0 to 255 each.");
  m.def(
      "ciede2000",
      [](const std::array<double, 3>& one, const std::array<double, 3>& other) {
        return appearance::ciede2000({one[0], one[1], one[2]}, {other[0], other[1], other[2]});
      },
      py::arg("one"), py::arg("other"),
      "Colour difference CIEDE2000 of two L*a*b* colours (Sharma, Wu, Dalal 2005).");
}

}  // namespace circumfluence::bindings

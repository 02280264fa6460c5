// Pictures.
#include <fmt/format.h>

#include "artwork/image.h"
#include "artwork/tone.h"
#include "bind.h"

namespace circumfluence::bindings {

void bind_artwork(py::module_& m) {
  using artwork::Image;
  py::class_<Image, std::shared_ptr<Image>>(m, "Image", "A picture as tones.")
      .def_readonly("width", &Image::width)
      .def_readonly("height", &Image::height)
      .def_property_readonly(
          "tone",
          [](const std::shared_ptr<Image>& self) {
            return view(self->tone.data(), {self->height, self->width}, self);
          },
          "uint16 [height][width], 0 black to 65535 white, row 0 on top; a view.")
      .def_property_readonly(
          "opacity",
          [](const std::shared_ptr<Image>& self) -> py::object {
            if (self->opacity.empty()) return py::none();
            return view(self->opacity.data(), {self->height, self->width}, self);
          },
          "The same for opacity, or None when the whole picture is opaque.")
      .def("__repr__",
           [](const Image& self) { return fmt::format("<Image {} x {} px>", self.width, self.height); });
  m.def(
      "read_image",
      [](const py::object& file) {
        const std::string path = py::str(file);
        const py::gil_scoped_release free;
        return std::make_shared<Image>(artwork::read_image(path));
      },
      py::arg("path"),
      "A PNG or JPEG as tones. Raises FileError on anything broken, too large or of another kind.");
}

}  // namespace circumfluence::bindings

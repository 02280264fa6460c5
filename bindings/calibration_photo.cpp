// Photographs of burnt coupons, read.
#include "calibration/photo.h"

#include <algorithm>

#include "calibration/coupon_drawing.h"
#include "calibration_given.h"

namespace circumfluence::bindings {

using calibration::Coupon;
using calibration::Looks;
using calibration::PatchReading;
using calibration::Photo;
using calibration::Reading;

namespace {

Photo photo_of(const py::object& value) {
  if (py::isinstance<Photo>(value)) return value.cast<Photo>();
  if (!py::hasattr(value, "__array__")) return calibration::read_photo(file_path(value));
  const auto array = py::array_t<std::uint8_t, py::array::c_style>::ensure(value);
  if (!array || array.ndim() != 3 || array.shape(2) != 3 ||
      !py::dtype::of<std::uint8_t>().is(py::array(value).dtype()))
    throw py::value_error("a photo as an array is uint8 [height][width][3]");
  Photo out;
  out.width = int(array.shape(1)), out.height = int(array.shape(0)), out.name = "array";
  out.pixels.resize(size_t(array.shape(0) * array.shape(1)));
  std::copy_n(array.data(), array.size(), out.pixels.empty() ? nullptr : out.pixels.front().data());
  return out;
}

py::array pixels_of(const Photo& photo) {
  std::vector<std::uint8_t> bytes;
  bytes.reserve(3 * photo.pixels.size());
  for (const auto& pixel : photo.pixels) bytes.insert(bytes.end(), pixel.begin(), pixel.end());
  return taken(std::move(bytes), {photo.height, photo.width, 3});
}

Looks looks_of(const py::object& value) {
  if (py::isinstance<Looks>(value)) return value.cast<Looks>();
  const appearance::Palette palette = mark::palette(*scene_of(value));
  return {palette.ground, palette.marked, palette.over};
}

void bind_photo_type(py::module_& m) {
  py::class_<Photo>(m, "Photo",
                    "A photograph or scan: Photo(pixels, name), uint8 [height][width][3], sRGB as stored.")
      .def(py::init([](const py::array& pixels, const std::string& name) {
             Photo out = photo_of(pixels);
             out.name = name;
             return out;
           }),
           py::arg("pixels"), py::arg("name") = "photo")
      .def_readonly("width", &Photo::width, "[px]")
      .def_readonly("height", &Photo::height, "[px]")
      .def_readonly("name", &Photo::name)
      .def_property_readonly("pixels", &pixels_of, "uint8 [height][width][3]")
      .def("__repr__",
           [](const Photo& p) { return fmt::format("<Photo {}, {} by {} px>", p.name, p.width, p.height); });
  py::class_<Looks>(m, "Looks", "sRGB of the states, from a job's records: Looks(job).")
      .def(py::init(&looks_of), py::arg("job"))
      .def_readonly("ground", &Looks::ground)
      .def_readonly("marked", &Looks::marked)
      .def_readonly("over_burned", &Looks::over_burned)
      .def("__repr__", [](const Looks& l) {
        const auto text = [](const appearance::Colour& c) {
          return fmt::format("#{:02x}{:02x}{:02x}", c[0], c[1], c[2]);
        };
        return fmt::format("<Looks ground {}, marked {}, over-burned {}>", text(l.ground), text(l.marked),
                           text(l.over_burned));
      });
}

void bind_reading(py::module_& m) {
  py::class_<PatchReading>(m, "PatchReading", "What a photograph says of one patch.")
      .def_readonly("number", &PatchReading::number)
      .def_readonly("tone", &PatchReading::tone, "[1] of the ground's, channel by channel, light evened out")
      .def_property_readonly("outcome",
                             [](const PatchReading& p) { return response::kOutcomeNames[int(p.outcome)]; })
      .def_readonly("sure", &PatchReading::sure, "[1] of that outcome, against the others")
      .def_property_readonly(
          "width", [](const PatchReading& p) { return or_none(p.width); },
          "[m] of a single line's mark, or None")
      .def_readonly("width_error", &PatchReading::width_error, "[m] one standard deviation")
      .def("__repr__", [](const PatchReading& p) {
        return fmt::format("<PatchReading {}: {}, sure to {:.0f} %>", p.number,
                           response::kOutcomeNames[int(p.outcome)], 100 * p.sure);
      });
  py::class_<Reading>(m, "Reading", "A photograph of a coupon, read.")
      .def_readonly("corners", &Reading::corners, "[px] outer corners, lower left first, counter-clockwise")
      .def_readonly("scale", &Reading::scale, "[m/px] in the middle")
      .def_readonly("blur", &Reading::blur, "[m] 1/e^2 radius of the picture's own")
      .def_property_readonly("patches", [](const Reading& r) { return r.patches; })
      .def_property_readonly("straightened", [](const Reading& r) { return r.straightened; })
      .def_readonly("notes", &Reading::notes)
      .def("report", &Reading::report, "A Report of what is sure enough.")
      .def("__repr__", [](const Reading& r) {
        const auto sure = std::count_if(r.patches.begin(), r.patches.end(),
                                        [](const PatchReading& p) { return p.sure >= calibration::kSure; });
        return fmt::format("<Reading of {} patches, {} of them sure>", r.patches.size(), sure);
      });
}

Reading read(const py::object& photo, const Coupon& coupon, const py::object& looks,
             const py::object& radius) {
  const Photo picture = photo_of(photo);
  const Looks states = looks_of(looks);
  const double round = radius.is_none() ? quantity::kUnset : si(radius, "mm");
  const py::gil_scoped_release free;
  return calibration::read_coupon_photo(picture, coupon, states, round);
}

}  // namespace

void bind_photo(py::module_& m) {
  bind_photo_type(m);
  bind_reading(m);
  m.def(
      "read_photo", [](const py::object& path) { return calibration::read_photo(file_path(path)); },
      py::arg("path"), "PNG or JPEG. Raises FileError.");
  m.def("read_coupon_photo", &read, py::arg("photo"), py::arg("coupon"), py::arg("looks"), py::kw_only(),
        py::arg("radius") = py::none(),
        "What a photograph (a Photo, an array or a path) says of each patch: a Reading. looks: a job, or "
        "Looks. radius: of "
        "a\npart whose strip was photographed from straight above; left out: flat. Raises JobError for a "
        "picture that cannot "
        "be read.");
  m.def(
      "write_reading",
      [](const py::object& path, const Coupon& coupon, const Reading& reading) {
        calibration::write_reading(file_path(path), coupon, reading);
      },
      py::arg("path"), py::arg("coupon"), py::arg("reading"),
      "What was read, as a picture to be corrected by hand, PNG. Raises FileError.");
}

}  // namespace circumfluence::bindings

// Pictures as arrays, both ways.
#include "look_given.h"

#include <algorithm>
#include <cstring>

#include "calibration_given.h"

namespace circumfluence::bindings {
namespace {

template <class Sample>
artwork::Image image_from(const py::array& array, std::uint16_t scale) {
  const auto samples = py::array_t<Sample, py::array::c_style | py::array::forcecast>(array);
  artwork::Image out{.width = int(array.shape(1)), .height = int(array.shape(0)), .tone = {}, .opacity = {}};
  out.tone.resize(size_t(samples.size()));
  std::transform(samples.data(), samples.data() + samples.size(), out.tone.begin(),
                 [scale](Sample s) { return static_cast<std::uint16_t>(s * scale); });
  return out;
}

}  // namespace

Process::Process(const SharedScene& of, double cell)
    : scene(of),
      swatches(*of, cell),
      wiped(*of, swatches.model(), look::Wipe::after),
      unwiped(*of, swatches.model(), look::Wipe::before) {}

SharedProcess process_of(const py::object& job) {
  if (py::isinstance<Process>(job)) return job.cast<SharedProcess>();
  const SharedScene scene = scene_of(job);
  const py::gil_scoped_release free;
  return std::make_shared<Process>(scene, 0);
}

artwork::Screen screen_of(const py::object& value) {
  return artwork::Screen(Keywords::chosen("screen", value, kScreens));
}

artwork::Image image_of(const py::object& value) {
  if (py::isinstance<artwork::Image>(value)) return value.cast<const artwork::Image&>();
  if (!py::hasattr(value, "__array__")) return artwork::read_image(file_path(value));
  const py::array array = py::array(value);
  const std::string kind = py::str(array.dtype());
  const bool known = kind == "uint8" || kind == "uint16" || kind == "bool";
  if (array.ndim() != 2 || !known)
    throw py::value_error(
        fmt::format("a picture of shape {}, {} (expected [height][width] of uint8, uint16 or bool)",
                    py::str(array.attr("shape")).cast<std::string>(), kind));
  if (array.size() == 0 || array.size() > artwork::kMostPixels ||
      std::max(array.shape(0), array.shape(1)) > artwork::kMostPixelsASide)
    throw py::value_error(fmt::format("a picture of {} by {} pixels (expected 1 to {} a side, {} at most)",
                                      array.shape(1), array.shape(0), artwork::kMostPixelsASide,
                                      artwork::kMostPixels));
  if (kind == "uint16") return image_from<std::uint16_t>(array, 1);
  return kind == "uint8" ? image_from<std::uint8_t>(array, 257) : image_from<bool>(array, 65535);
}

py::array array_of(artwork::Image&& image) {
  return taken(std::move(image.tone), {image.height, image.width});
}

py::array array_of(const appearance::Pixels& pixels) {
  std::vector<std::uint8_t> bytes(pixels.rgb.size() * 3);
  std::memcpy(bytes.data(), pixels.rgb.data(), bytes.size());
  return taken(std::move(bytes), {pixels.height, pixels.width, 3});
}

appearance::Pixels pixels_of(const py::handle& value) {
  const auto array = py::array::ensure(value);
  if (!array || array.ndim() != 3 || array.shape(2) != 3 || array.size() == 0 ||
      !py::dtype::of<std::uint8_t>().is(array.dtype()))
    throw py::value_error("a coloured picture is an array uint8 [height][width][3]");
  const auto samples = py::array_t<std::uint8_t, py::array::c_style | py::array::forcecast>(array);
  appearance::Pixels out{int(array.shape(1)), int(array.shape(0)), {}};
  out.rgb.resize(size_t(samples.size() / 3));
  std::memcpy(out.rgb.data(), samples.data(), size_t(samples.size()));
  return out;
}

py::tuple tuple_of(const appearance::Linear& light) {
  return py::make_tuple(light[0], light[1], light[2]);
}

look::Wipe take_wipe(Keywords& given) {
  return wipe_of(take_flag(given, "wiped", true));
}

look::Blocks take_blocks(Keywords& given) {
  look::Blocks out;
  out.most = given.count("most", out.most);
  out.finest = given.number("finest", "um", out.finest);
  out.wipe = take_wipe(given);
  out.threads = given.count("threads", out.threads);
  return out;
}

}  // namespace circumfluence::bindings

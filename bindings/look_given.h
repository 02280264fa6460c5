// What the room look is given from Python and gives back: processes, pictures, ways of wiping.
#pragma once

#include <fmt/format.h>

#include <span>

#include "artwork/image.h"
#include "look/skin.h"
#include "look/swatch.h"
#include "window_axes.h"

namespace circumfluence::bindings {

void bind_finish(py::module_& m);
void bind_tones(py::module_& m);
void bind_legible(py::module_& m);
void bind_round(py::module_& m);

// A job's process made ready to burn small pieces, and what its surface looks like before and after a wipe.
struct Process {
  SharedScene scene;
  look::Swatches swatches;
  look::Finish wiped, unwiped;

  Process(const SharedScene& scene, double cell);
  const look::Finish& finish(bool wipe) const { return wipe ? wiped : unwiped; }
};
using SharedProcess = std::shared_ptr<Process>;
// A Swatches as it is, so that its steps are not made anew, or one of a Job or Scene. Takes the GIL for
// granted.
SharedProcess process_of(const py::object& job);

inline constexpr const char* kScreens[] = {"bayer", "floyd_steinberg", "jarvis_judice_ninke", "stucki",
                                           "blue_noise"};
artwork::Screen screen_of(const py::object& value);

// An Image, a path, or an array [height][width]: uint8 or uint16 from black to white, or bool, true for
// white.
artwork::Image image_of(const py::object& value);
py::array array_of(artwork::Image&& image);             // uint16 [height][width]
py::array array_of(const appearance::Pixels& pixels);   // uint8 [height][width][3]
appearance::Pixels pixels_of(const py::handle& value);  // of such an array
py::tuple tuple_of(const appearance::Linear& light);

inline look::Wipe wipe_of(bool wiped) {
  return wiped ? look::Wipe::after : look::Wipe::before;
}
look::Wipe take_wipe(Keywords& given);
look::Blocks take_blocks(Keywords& given);  // finest, most, wiped, threads

// Adds a method to a class that another file has bound.
template <class Function, class... Extra>
void add_method(const py::object& type, const char* name, Function&& function, const Extra&... extra) {
  type.attr(name) =
      py::cpp_function(std::forward<Function>(function), py::name(name), py::is_method(type), extra...);
}

// A number a row, of a column of structs.
template <class Row, class Get>
py::array column(std::span<const Row> rows, const Get& get) {
  std::vector<double> out;
  for (const Row& row : rows) out.push_back(get(row));
  return taken(std::move(out));
}

}  // namespace circumfluence::bindings

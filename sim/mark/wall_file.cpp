// The group /wall of the file of record.
#include <hdf5_hl.h>

#include <vector>

#include "mark/hdf5.h"
#include "mark/mark_file.h"

namespace circumfluence::mark {

void write_wall(const Hdf5Calls& calls, hid_t file, const WallMap& wall) {
  if (wall.temperature.empty()) return;
  const Hdf5Id group = calls.create_group(file, kWallGroup);
  const hsize_t shape[2] = {wall.around.size(), wall.axial.size()};
  const Hdf5Id space = calls.own(H5Screate_simple(2, shape, nullptr), H5Sclose, "shape the wall");
  const Hdf5Id creation = ordered_creation(H5P_DATASET_CREATE);
  const Hdf5Id map = calls.own(H5Dcreate2(group.get(), "temperature", H5T_IEEE_F32LE, space.get(), H5P_DEFAULT,
                                          creation.get(), H5P_DEFAULT),
                               H5Dclose, "create the wall's map");
  calls.check(H5Dwrite(map.get(), H5T_NATIVE_FLOAT, H5S_ALL, H5S_ALL, H5P_DEFAULT, wall.temperature.data()),
              "write the wall's map");
  const char* const names[2] = {"around", "axial"};
  const char* const meanings[2] = {"arc length around the wall from top dead centre", "position along its axis"};
  for (unsigned i = 0; i < 2; ++i) {
    const Hdf5Id axis = calls.create_numbers(group.get(), names[i], i == 0 ? wall.around : wall.axial, false);
    calls.check(H5DSset_scale(axis.get(), names[i]), "make an axis of the wall");
    calls.check(H5DSattach_scale(map.get(), axis.get(), i), "label the wall");
    calls.write_text(axis.get(), "units", "m");
    calls.write_text(axis.get(), "long_name", meanings[i]);
  }
  calls.write_text(map.get(), "units", "K");
  calls.write_text(map.get(), "long_name",
                   "the wall's own temperature when the beam came, the highest of each coarse cell");
}

}  // namespace circumfluence::mark

#include "motion/tool_path.h"

namespace circumfluence::motion {

const quantity::Fields<PathFile>& path_fields() {
  static const quantity::Fields<PathFile> fields = {
      {"file", &PathFile::file, "", 0, 0, "the path as the machine gets it: a file of words, RS-274"},
      {"along", quantity::choice<&PathFile::along>(), "", 0, 0, "the word that moves along the part's axis",
       false, "x y"},
      {"turn", quantity::choice<&PathFile::turn>(), "", 0, 0,
       "the word that turns the part or crosses a standing one: x or y in lengths at the driven diameter, a "
       "in degrees",
       false, "x y a"},
      {"axial", &PathFile::axial, "mm", -10, 10, "where the path's zero lies along the part's axis"},
      {"around", &PathFile::around, "mm", -10, 10,
       "where the path's zero lies around the part, from top dead centre", false},
      {"full_power_word", &PathFile::full_power_word, "1", 1e-3, 1e9, "the S that asks for the rated power"},
      {"m3_follows_speed", &PathFile::m3_follows_speed, "", 0, 0,
       "after M3 the controller lowers power where the head is slower", false},
      {"m4_follows_speed", &PathFile::m4_follows_speed, "", 0, 0,
       "after M4 the controller lowers power where the head is slower", false},
      {"rapid_speed", &PathFile::rapid_speed, "mm/min", 1e-5, 50,
       "speed of G0; if absent, as fast as the axes go", false},
      {"rapids_dark", &PathFile::rapids_dark, "", 0, 0,
       "the controller puts the beam out during G0; by RS-274 alone it stays as M3 or M4 left it", false},
  };
  return fields;
}

}  // namespace circumfluence::motion

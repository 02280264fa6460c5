// The extension module circumfluence._core: a binding file or more a room.
#include "look_given.h"

PYBIND11_MODULE(_core, m) {
  using namespace circumfluence::bindings;
  m.doc() = "What a laser will do to a cylinder, computed before the laser is switched on.";
  m.attr("__version__") = CIRCUMFLUENCE_VERSION;
  bind_quantity(m);
  bind_workpiece(m);
  bind_beam(m);
  bind_artwork(m);
  bind_motion(m);
  bind_job(m);
  bind_exposure(m);
  bind_heat(m);
  bind_heat_layers(m);
  bind_heat_history(m);
  bind_heat_wall(m);
  bind_heat_enthalpy(m);
  bind_response(m);
  bind_kinetics(m);
  bind_appearance(m);
  bind_mark(m);
  bind_width(m);
  bind_focus(m);
  bind_window(m);
  bind_doubts(m);
  bind_chances(m);
  bind_intervals(m);
  bind_rotary(m);
  bind_tool_path(m);
  bind_path_check(m);
  bind_set_up(m);
  bind_resume(m);
  bind_batch(m);
  bind_regression(m);
  bind_coupon(m);
  bind_report(m);
  bind_plan(m);
  bind_fit(m);
  bind_photo(m);
  bind_fitted(m);
  bind_finish(m);
  bind_tones(m);
  bind_legible(m);
  bind_round(m);
}

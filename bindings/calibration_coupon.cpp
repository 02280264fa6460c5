// Coupons: patches, where they lie, and the coupon's table.
#include "calibration/coupon.h"

#include "calibration_given.h"
#include "quantity/error.h"

namespace circumfluence::bindings {

using calibration::Coupon;
using calibration::Ground;
using calibration::Patch;
using calibration::Rectangle;
using calibration::Slot;

namespace {

constexpr const char* kDirections[2] = {"axial", "around"};

Patch patch(const py::kwargs& kwargs) {
  Keywords given("Patch", stated(kwargs));
  Patch out;
  out.power = given.number("power", "W");
  out.speed = given.number("speed", "mm/min");
  out.spacing = given.number("spacing", "mm");
  out.passes = given.count("passes", out.passes);
  out.focus_offset = given.number("focus_offset", "mm", out.focus_offset);
  out.direction = motion::Direction(given.choice("direction", kDirections, int(out.direction)));
  given.done();
  return out;
}

std::string setting(const Patch& p) {
  std::string out =
      fmt::format("{} at {}", quantity::format(p.power, "W", 4), quantity::format(p.speed, "mm/min", 5));
  out += p.is_line() ? ", a line" : ", every " + quantity::format(p.spacing, "mm", 4);
  if (p.passes != 1) out += fmt::format(", {} passes", p.passes);
  if (p.focus_offset != 0) out += ", focus " + quantity::format(p.focus_offset, "mm", 4);
  return out;
}

// Text, as Job.replace takes it; a single line has no spacing to set.
py::dict changes(const Patch& p) {
  py::dict out;
  out["scan.power"] = quantity::format(p.power, "W", 9);
  out["scan.speed"] = quantity::format(p.speed, "mm/min", 9);
  if (!p.is_line()) out["scan.spacing"] = quantity::format(p.spacing, "mm", 9);
  out["scan.focus_offset"] = quantity::format(p.focus_offset, "mm", 9);
  out["scan.passes"] = p.passes;
  out["scan.direction"] = kDirections[int(p.direction)];
  return out;
}

void bind_patch(py::module_& m) {
  py::class_<Patch>(
      m, "Patch",
      "One setting to be tried: Patch(power=\"7.5 W\", speed=\"2500 mm/min\", spacing=\"0.1 mm\").\n\n"
      "Further keywords: passes=1, focus_offset=0, direction=\"axial\" or \"around\". A spacing of 0 is a "
      "single line.")
      .def(py::init(&patch))
      .def_readonly("power", &Patch::power, "[W] set at the source")
      .def_readonly("speed", &Patch::speed, "[m/s]")
      .def_readonly("spacing", &Patch::spacing, "[m]; 0: a single line")
      .def_readonly("passes", &Patch::passes)
      .def_readonly("focus_offset", &Patch::focus_offset, "[m]")
      .def_property_readonly("direction", [](const Patch& p) { return kDirections[int(p.direction)]; })
      .def_property_readonly("is_line", &Patch::is_line)
      .def("changes", &changes, "What Job.replace needs to burn so: job.replace(patch.changes()).")
      .def("__repr__", [](const Patch& p) { return "<Patch " + setting(p) + ">"; });
}

Rectangle rectangle_of(const py::handle& value) {
  if (py::isinstance<Rectangle>(value)) return value.cast<Rectangle>();
  if (!py::isinstance<py::sequence>(value)) throw expected("place", "a Rectangle or four lengths", value);
  const auto sides = py::reinterpret_borrow<py::sequence>(value);
  if (sides.size() != 4) throw py::value_error("place: expected four lengths: x, y, width, height");
  return {si(sides[0], "mm"), si(sides[1], "mm"), si(sides[2], "mm"), si(sides[3], "mm")};
}

void bind_slot(py::module_& m) {
  py::class_<Rectangle>(m, "Rectangle", "[m] lower left corner and size; x along the axis, y upward.")
      .def_readonly("x", &Rectangle::x)
      .def_readonly("y", &Rectangle::y)
      .def_readonly("width", &Rectangle::width)
      .def_readonly("height", &Rectangle::height)
      .def("__repr__", [](const Rectangle& r) {
        return fmt::format("<Rectangle {} by {} at {}, {}>", quantity::format(r.width, "mm", 4),
                           quantity::format(r.height, "mm", 4), quantity::format(r.x, "mm", 4),
                           quantity::format(r.y, "mm", 4));
      });
  py::class_<Slot>(
      m, "Slot",
      "A patch, its number and its place: Slot(3, patch, (\"10 mm\", \"5 mm\", \"4 mm\", \"4 mm\")).")
      .def(py::init([](int number, const py::object& patch, const py::object& place) {
             return Slot{number, patch_of(patch), rectangle_of(place)};
           }),
           py::arg("number"), py::arg("patch"), py::arg("place"))
      .def_readonly("number", &Slot::number)
      .def_readonly("patch", &Slot::patch)
      .def_readonly("place", &Slot::place)
      .def("__repr__",
           [](const Slot& s) { return fmt::format("<Slot {}: {}>", s.number, setting(s.patch)); });
}

Coupon coupon(const py::iterable& slots, const py::kwargs& kwargs) {
  Keywords given("Coupon", stated(kwargs));
  Coupon out;
  for (const py::handle& slot : slots) out.slots.push_back(one_of<Slot>(slot));
  out.width = given.number("width", "mm");
  out.height = given.number("height", "mm");
  out.ink = patch_of(given.take("ink"));
  out.ground = Ground(given.choice("ground", calibration::kGroundNames, int(out.ground)));
  out.corner = given.number("corner", "mm", out.corner);
  out.letters = given.number("letters", "mm", out.letters);
  given.done();
  calibration::check(out);
  return out;
}

const Slot& slot_of(const Coupon& c, int number) {
  for (const Slot& slot : c.slots)
    if (slot.number == number) return slot;
  throw py::key_error(fmt::format("the coupon has no patch {}", number));
}

void bind_coupon_type(py::module_& m) {
  py::class_<Coupon>(
      m, "Coupon",
      "A grid of trial patches: Coupon(slots, width=\"60 mm\", height=\"40 mm\", ink=patch).\n\n"
      "Further keywords: ground=\"flat\" or \"strip\", corner=\"3 mm\" (side of a corner mark), "
      "letters=\"1.8 mm\" (0: no "
      "labels).\nink: what marks and labels are burnt with. Raises ValidityError.")
      .def(py::init(&coupon), py::arg("slots"))
      .def_property_readonly("slots", [](const Coupon& c) { return c.slots; })
      .def_readonly("width", &Coupon::width, "[m] along x")
      .def_readonly("height", &Coupon::height, "[m] along y")
      .def_property_readonly("ground",
                             [](const Coupon& c) { return calibration::kGroundNames[int(c.ground)]; })
      .def_readonly("corner", &Coupon::corner, "[m] side of a corner mark")
      .def_readonly("letters", &Coupon::letters, "[m] height of capitals; 0: no labels")
      .def_readonly("ink", &Coupon::ink)
      .def("__len__", [](const Coupon& c) { return c.slots.size(); })
      .def("__getitem__", &slot_of, py::arg("number"), "The slot of that number.")
      .def(
          "corner_mark",
          [](const Coupon& c, int which) {
            if (which < 0 || which > 3)
              throw py::index_error("corner marks are 0, lower left, to 3, counter-clockwise");
            return calibration::corner_mark(c, which);
          },
          py::arg("which"))
      .def(
          "label", [](const Coupon& c, int number) { return calibration::label(c, slot_of(c, number)); },
          py::arg("number"), "What is written below a slot.")
      .def(
          "duration",
          [](const Coupon& c, const py::object& job) {
            return calibration::duration(c, scene_of(job)->job.scan);
          },
          py::arg("job"), "[s] of burning and travelling.")
      .def_property_readonly(
          "table", [](const Coupon& c) { return calibration::table(c); }, "as CSV")
      .def(
          "write_table",
          [](const Coupon& c, const py::object& path) { calibration::write_table(file_path(path), c); },
          py::arg("path"), "CSV, to be filled in. Raises FileError.")
      .def("__repr__",
           [](const Coupon& c) {
             return fmt::format("<Coupon {} patches on {} by {}, {}>", c.slots.size(),
                                quantity::format(c.width, "mm", 4), quantity::format(c.height, "mm", 4),
                                calibration::kGroundNames[int(c.ground)]);
           })
      .def(py::pickle(
          [](const Coupon& c) { return calibration::table(c); },
          [](const std::string& table) { return calibration::parse_coupon(table, "pickled coupon"); }));
}

}  // namespace

Patch patch_of(const py::handle& value) {
  if (py::isinstance<window::Setting>(value)) {
    const auto& s = value.cast<const window::Setting&>();
    return {.power = s.power,
            .speed = s.speed,
            .spacing = s.fill.spacing,
            .passes = s.fill.passes,
            .focus_offset = s.fill.focus_offset};
  }
  return one_of<Patch>(value);
}

std::vector<Patch> patches_of(const py::handle& values) {
  if (py::isinstance<Patch>(values) || py::isinstance<py::dict>(values) ||
      py::isinstance<window::Setting>(values))
    return {patch_of(values)};
  std::vector<Patch> out;
  for (const py::handle& value : py::reinterpret_borrow<py::iterable>(values)) out.push_back(patch_of(value));
  return out;
}

std::string file_path(const py::object& path) {
  return py::module_::import("os").attr("fspath")(path).cast<std::string>();
}

py::object loaded(const std::string& json) {
  return py::module_::import("json").attr("loads")(json);
}

void bind_coupon(py::module_& m) {
  bind_patch(m);
  bind_slot(m);
  bind_coupon_type(m);
  m.def(
      "read_coupon", [](const py::object& path) { return calibration::read_coupon(file_path(path)); },
      py::arg("path"), "A coupon from its table. Raises FileError, JobError.");
  m.def("parse_coupon", &calibration::parse_coupon, py::arg("text"), py::arg("name") = "coupon",
        "The same from text; `name` is for messages. Raises JobError.");
}

}  // namespace circumfluence::bindings

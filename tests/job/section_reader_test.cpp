// Truth: what section_text writes, read_section must read back, for every section and any legal values.
#include "job/section_reader.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "job/same.h"
#include "job/section_writer.h"

namespace circumfluence::job {
namespace {

template <class Section>
void expect_round_trip(const char* name, const quantity::Fields<Section>& fields) {
  EXPECT_TRUE(rc::check(name, [&] {
    const Section section = random_section(fields);
    check_section(section, name, fields);
    const std::string text = section_text(section, fields);
    Section back;
    read_section(parse_toml(text, name), {name, "", name}, fields, back);
    RC_LOG() << text;
    RC_ASSERT(difference(section, back, fields) == "");
  }));
}

TEST(SectionReader, ReadsBackEverySection) {
  expect_round_trip("laser", beam::laser_fields());
  expect_round_trip("workpiece", workpiece::part_fields());
  expect_round_trip("mount", motion::mount_fields());
  expect_round_trip("artwork", artwork::placement_fields());
  expect_round_trip("scan", motion::scan_fields());
  expect_round_trip("grid", workpiece::grid_fields());
  expect_round_trip("outcome", response::limits_fields());
  expect_round_trip("material", workpiece::material_fields());
  expect_round_trip("optics", workpiece::optics_fields());
}

template <class Section>
std::string refusal(const Section& section, const quantity::Fields<Section>& fields) {
  try {
    check_section(section, "here", fields);
  } catch (const quantity::JobError& error) {
    return error.what();
  }
  return "accepted";
}

motion::Scan good_scan() {
  motion::Scan scan;
  scan.power = 5;
  scan.speed = 0.04;
  scan.spacing = 8e-5;
  scan.run_up = 2e-3;
  scan.acceleration = 0.5;
  return scan;
}

TEST(SectionReader, ChecksSectionsBuiltInCode) {
  EXPECT_EQ(refusal(good_scan(), motion::scan_fields()), "accepted");
  motion::Scan scan = good_scan();
  scan.spacing = quantity::kUnset;
  EXPECT_EQ(refusal(scan, motion::scan_fields()),
            "here.spacing is missing (expected a length from 0.001 mm to 20 mm)");
  scan = good_scan();
  scan.power_share = 0.5;
  EXPECT_EQ(refusal(scan, motion::scan_fields()),
            "here.power is given twice, in W and in %. Keep one of them");
  scan = good_scan();
  scan.spacing = quantity::kInfinity;
  EXPECT_EQ(refusal(scan, motion::scan_fields()),
            "here.spacing = inf mm (out of range; expected a length from 0.001 mm to 20 mm)");
  scan = good_scan();
  scan.passes = 0;
  EXPECT_EQ(refusal(scan, motion::scan_fields()),
            "here.passes = 0 (out of range; expected a whole number from 1 to 100)");
  scan = good_scan();
  scan.direction = static_cast<motion::Direction>(7);
  EXPECT_EQ(refusal(scan, motion::scan_fields()),
            "here.direction is missing (expected one of \"axial\", \"around\")");
}

TEST(SectionReader, ChecksFiguresBuiltInCode) {
  workpiece::Material material;
  material.title = "x";
  material.density = {7900, 0.1, ""};
  EXPECT_EQ(refusal(material, workpiece::material_fields()),
            "here.density has no source, or a spread outside 0 % to 1000 %");
  material.density = {0.5, 0.1, "x"};
  EXPECT_THAT(refusal(material, workpiece::material_fields()),
              testing::StartsWith("here.density = 0.5 kg/m^3 (out of range; expected"));
}

}  // namespace
}  // namespace circumfluence::job

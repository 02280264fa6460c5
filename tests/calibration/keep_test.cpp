// Truth: files written by hand; what is no record's own must come out as it went in, to the byte.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "calibration/fitted.h"
#include "job/material_file.h"
#include "mark/sample_map.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using testing::EndsWith;
using testing::HasSubstr;
using workpiece::Material;

Material record(const std::string& name, const std::string& title = "new") {
  Material out;
  out.name = name;
  out.title = title;
  out.kind = workpiece::Kind::coat;
  out.threshold = {1.12e4, 0.061, "coupon of 2026-05-02 (c.csv): 12 patches"};
  out.threshold_dwell = {1e-3, 0, "x"};
  workpiece::Optics& optics = out.optics.emplace_back();
  optics.wavelength = {450e-9, 0, "nominal"};
  optics.absorptivity = {0.9, 0.1, "y"};
  out.settled = {{name + ".threshold", "11.2 mJ/mm^2", "6.1 %", {}},
                 {"laser.spot", "81.3 um", "2.1 %", {-0.3}}};
  return out;
}

class Keep : public testing::Test {
 protected:
  std::string kept(const std::string& before, const std::vector<Material>& records) {
    std::ofstream(path_, std::ios::binary) << before;
    keep(records, path_);
    return content();
  }
  std::string content() const {
    std::ifstream file(path_, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  std::string refusal(const std::string& before, const std::vector<Material>& records) {
    try {
      kept(before, records);
    } catch (const std::runtime_error& error) {
      EXPECT_EQ(content(), before);
      return error.what();
    }
    return "accepted";
  }
  mark::TestFolder folder_;
  std::string path_ = folder_.file("mine.toml");
};

TEST_F(Keep, MakesTheFileAndItsFolder) {
  const std::string path = folder_.file("a/b/mine.toml");
  keep({record("club"), record("club_base")}, path);
  const std::vector<Material> found = job::read_materials(path);
  ASSERT_EQ(found.size(), 2u);
  EXPECT_EQ(job::write_material(found[0]), job::write_material(record("club")));
  EXPECT_EQ(job::write_material(found[1]), job::write_material(record("club_base")));
  EXPECT_THAT(folder_.names(), testing::ElementsAre("a"));
}

TEST_F(Keep, AddsAtTheEndAndLeavesTheRest) {
  const std::string before =
      "# mine\r\n\n[material.alloy]   # a note\ntitle = 'an [alloy] # not a remark'\nkind=\"metal\"";
  EXPECT_EQ(kept(before, {record("club")}), before + "\n\n" + job::write_material(record("club")));
}

// Remarks inside a record go with it, those above the next header stay.
TEST_F(Keep, ReplacesARecordWhereItStands) {
  const std::string head =
      "# mine\n\n[material.first]\ntitle = \"\"\"a\n[material.club]\n\"\"\"\nkind = \"metal\"\n\n# of the "
      "club\n";
  const std::string old =
      "[ material . \"club\" ]\ntitle = \"old\" # was\n\n# inside\nkind = "
      "\"coat\"\n[[material.club.optics]]\nwavelength = \"450 nm\"\n\n"
      "[[material.club.optics]]\nwavelength = \"1064 nm\"\n";
  const std::string tail =
      "\n# of the last\n[material.last]\ntitle = \"l\"\nkind = \"metal\"\n\n[material.clubs]\ntitle = "
      "'c'\nkind = 'metal'\n# end";
  EXPECT_EQ(kept(head + old + tail, {record("club")}), head + job::write_material(record("club")) + tail);
}

TEST_F(Keep, GathersWhatIsScattered) {
  const std::string middle = "# between\n[material.alloy]\ntitle = \"a\"\nkind = \"metal\"\n";
  const std::string before = "[material.club]\ntitle = \"old\"\nkind = \"coat\"\n" + middle +
                             "[[material.club.optics]]\nwavelength = \"450 nm\"\n";
  EXPECT_EQ(kept(before, {record("club")}), job::write_material(record("club")) + middle);
}

TEST_F(Keep, AgainIsTheSameFile) {
  const std::string before = "# mine\n[material.alloy]\ntitle = \"a\"\nkind = \"metal\"\n\n# end\n";
  const std::string once = kept(before, {record("club"), record("club_base")});
  EXPECT_EQ(kept(once, {record("club"), record("club_base")}), once);
  const std::string other = kept(once, {record("club", "newer")});
  EXPECT_EQ(kept(other, {record("club")}), once);
}

TEST_F(Keep, LeavesAloneWhatItCannotReplace) {
  const std::vector<Material> club{record("club")};
  EXPECT_THAT(refusal("[material]\nclub = { title = \"old\", kind = \"coat\" }\n", club),
              HasSubstr("Write its tables as [material.NAME]"));
  EXPECT_THAT(refusal("[material]\nclub.title = \"old\"\nclub.kind = \"coat\"\n", club),
              HasSubstr("cannot be put into this file"));
  EXPECT_THAT(refusal("[laser]\n", club), HasSubstr("unknown section"));
  EXPECT_THAT(refusal("no TOML", club), HasSubstr("not TOML"));
  Material bad = record("club");
  bad.settled[1].correlations = {2};
  EXPECT_NE(refusal("", {bad}), "accepted");
  EXPECT_THROW(keep(club, folder_.path.string()), quantity::FileError);
  EXPECT_THROW(keep(club, ""), quantity::FileError);
}

TEST_F(Keep, IsFoundByJobsAtOnce) {
  setenv("CIRCUMFLUENCE_MY_MATERIALS", path_.c_str(), 1);
  EXPECT_EQ(own_materials_path(), path_);
  keep({record("club", "once")}, path_);
  EXPECT_EQ(job::find_material("club", {}).title, "once");
  keep({record("club", "and again")}, path_);
  EXPECT_EQ(job::find_material("club", {}).title, "and again");
  EXPECT_EQ(job::find_material("club", {}).origin, path_);
  EXPECT_THAT(job::material_names({}), testing::Contains("club"));
  unsetenv("CIRCUMFLUENCE_MY_MATERIALS");
  EXPECT_THAT(own_materials_path(), EndsWith("/.config/circumfluence/materials.toml"));
}

}  // namespace
}  // namespace circumfluence::calibration

// Truth: how the sections must fit together, by hand: art of 40 mm on a part of 180 mm, one turn of pi 73 mm.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <utility>

#include "job/job_file.h"
#include "job/sample.h"
#include "quantity/constants.h"
#include "quantity/error.h"

namespace circumfluence::job {
namespace {

class JobCheck : public testing::Test {
 protected:
  std::string refusal() const {
    try {
      check(job_);
    } catch (const quantity::JobError& error) {
      return error.what();
    }
    return "accepted";
  }
  Job job_ = parse_job(kSample);
};

TEST_F(JobCheck, AcceptsTheSample) {
  EXPECT_EQ(refusal(), "accepted");
}

TEST_F(JobCheck, HoldsBoundsOfSectionsBuiltInCode) {
  job_.scan.speed = 0;
  EXPECT_EQ(refusal(),
            "scan.speed = 0 mm/min (out of range; expected a speed from 0.6 mm/min to 3000000 mm/min)");
  job_.scan.speed = quantity::kUnset;
  EXPECT_EQ(refusal(), "scan.speed is missing (expected a speed from 0.6 mm/min to 3000000 mm/min)");
}

TEST_F(JobCheck, RefusesAnEmptyJob) {
  job_ = Job{};
  EXPECT_EQ(refusal(), "laser.wavelength is missing (expected a length from 200 nm to 20000 nm)");
}

TEST_F(JobCheck, KeepsTheArtOnThePart) {
  job_.artwork.axial = 0.160;
  EXPECT_EQ(refusal(), "accepted");  // reaches the very end
  job_.artwork.axial = 0.161;
  EXPECT_EQ(
      refusal(),
      "artwork.axial = 161 mm (art of 40 mm reaches from 141 mm to 181 mm; expected on the part, from 0 mm "
      "to 180 mm)");
  job_.artwork.axial = 0.019;
  EXPECT_THAT(refusal(), testing::StartsWith("artwork.axial = 19 mm (art of 40 mm reaches from -1 mm"));
}

TEST_F(JobCheck, KeepsTheArtWithinOneTurn) {
  job_.artwork.size_around = quantity::kPi * 0.073;
  EXPECT_EQ(refusal(), "accepted");
  job_.artwork.size_around = 0.230;
  EXPECT_EQ(
      refusal(),
      "artwork.size_around = 230 mm (the art would overlap itself; expected at most one turn, 229.336 mm)");
  job_.mount.drive_diameter = 0.080;  // the machine measures arcs at the diameter it believes in
  EXPECT_EQ(refusal(), "accepted");
}

TEST_F(JobCheck, HoldsPowerToWhatTheLaserGives) {
  job_.scan.power_share = quantity::kUnset;
  job_.scan.power = 10;
  EXPECT_EQ(refusal(), "accepted");
  job_.scan.power = 10.1;
  EXPECT_EQ(refusal(),
            "scan.power = 10.1 W (more than the laser gives; expected at most laser.rated_power, 10 W)");
}

TEST_F(JobCheck, HoldsSpeedsToWhatTheAxisDoes) {
  job_.scan.top_speed = 2500e-3 / 60;
  job_.scan.travel_speed = 2000e-3 / 60;
  EXPECT_EQ(refusal(), "accepted");  // as fast as it can
  job_.scan.travel_speed = 3000e-3 / 60;
  EXPECT_EQ(refusal(),
            "scan.travel_speed = 3000 mm/min (more than the axis can do; expected at most scan.top_speed, "
            "2500 mm/min)");
  job_.scan.speed = 2600e-3 / 60;
  EXPECT_EQ(refusal(),
            "scan.speed = 2600 mm/min (more than the axis can do; expected at most scan.top_speed, 2500 "
            "mm/min)");
}

// What is not known exactly is stated, never assumed; spreads are shares, heights are lengths.
TEST_F(JobCheck, ReadsWhatIsNotKnownExactly) {
  for (const double spread : {job_.laser.power_spread, job_.laser.spot_spread, job_.workpiece.coat_spread,
                              job_.mount.height_spread, job_.scan.top_speed})
    EXPECT_TRUE(std::isnan(spread));
  assign(job_, "laser.power_spread", "5 %");
  assign(job_, "laser.spot_spread", "1000 %");
  assign(job_, "workpiece.coat_spread", "0 %");
  assign(job_, "mount.height_spread", "300 um");
  assign(job_, "scan.top_speed", "100 mm/s");
  EXPECT_EQ(refusal(), "accepted");
  EXPECT_DOUBLE_EQ(job_.laser.power_spread, 0.05);
  EXPECT_DOUBLE_EQ(job_.laser.spot_spread, 10);
  EXPECT_DOUBLE_EQ(job_.workpiece.coat_spread, 0);
  EXPECT_DOUBLE_EQ(job_.mount.height_spread, 0.3e-3);
  EXPECT_DOUBLE_EQ(job_.scan.top_speed, 0.1);
}

TEST_F(JobCheck, HoldsTheBoundsOfWhatIsNotKnownExactly) {
  const std::pair<const char*, double> wrong[] = {{"laser.power_spread", 10.1},
                                                  {"laser.spot_spread", -0.01},
                                                  {"workpiece.coat_spread", 10.1},
                                                  {"mount.height_spread", -1e-6},
                                                  {"mount.height_spread", 0.051}};
  for (const auto& [address, value] : wrong) {
    Job job = job_;
    EXPECT_THROW(assign(job, address, value), quantity::JobError) << address;
  }
}

TEST_F(JobCheck, OrdersTheLimitsOfTheGrid) {
  job_.grid.around_from = 0.01;
  EXPECT_EQ(refusal(), "accepted");
  job_.grid.around_to = 0.01;
  EXPECT_EQ(refusal(), "grid.around_to = 10 mm (not beyond grid.around_from, 10 mm)");
}

TEST_F(JobCheck, FindsMaterialsOfTheRightKind) {
  job_.workpiece.base = "paint";
  EXPECT_EQ(refusal(), "workpiece.base = \"paint\" (a coat; expected a metal, glass or organic material)");
  job_.workpiece.base = "steel";
  job_.workpiece.coat = "steel";
  EXPECT_EQ(refusal(), "workpiece.coat = \"steel\" (not a coat; expected a material of kind \"coat\")");
  job_.workpiece.coat = "piant";
  EXPECT_THAT(refusal(),
              testing::StartsWith("workpiece.coat = \"piant\" (no such material; expected one of "));
  EXPECT_THAT(refusal(), testing::EndsWith("). Did you mean \"paint\"?"));
}

TEST_F(JobCheck, RefusesTwoRecordsOfOneName) {
  job_.materials.push_back(job_.materials.front());
  EXPECT_EQ(refusal(), "material.steel is given twice. Keep one of the records");
}

}  // namespace
}  // namespace circumfluence::job

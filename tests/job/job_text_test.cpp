// Truth: parse_job(write_job(job)) is the same job; altered values are converted by hand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "job/job_file.h"
#include "job/same.h"
#include "job/sample.h"
#include "quantity/error.h"

namespace circumfluence::job {
namespace {

template <class Work>
std::string refusal(Work work) {
  try {
    work();
  } catch (const quantity::JobError& error) {
    return error.what();
  }
  return "accepted";
}

TEST(JobText, ReadsBackTheSample) {
  const Job job = parse_job(kSample);
  const std::string text = write_job(job);
  EXPECT_EQ(difference(parse_job(text), job), "");
  EXPECT_EQ(write_job(parse_job(text)), text);
}

TEST(JobText, WritesWhatWasWritten) {
  const std::string text = write_job(parse_job(kSample));
  EXPECT_THAT(text, testing::HasSubstr(
                        "\n[scan]\npower = \"80 %\"\nspeed = \"2500 mm/min\"\nspacing = \"0.08 mm\"\n"));
  EXPECT_THAT(text,
              testing::HasSubstr("\n[[material.steel.optics]]\nwavelength = \"450 nm\"\nabsorptivity = "));
}

TEST(JobText, ReadsBackAnyLegalJob) {
  const Job sample = parse_job(kSample);
  EXPECT_TRUE(rc::check("parse_job(write_job(job))", [&] {
    Job job = sample;
    job.scan = random_section(motion::scan_fields());
    if (job.scan.power > job.laser.rated_power) job.laser.rated_power = job.scan.power;
    for (const double speed : {job.scan.speed, job.scan.travel_speed})
      if (speed > job.scan.top_speed) job.scan.top_speed = speed;
    job.mount = random_section(motion::mount_fields());
    job.mount.mouth = motion::End::unstated;  // which way round is told whole or not at all
    job.mount.mouth_faces = job.mount.axial_feed = job.mount.around_feed = motion::Toward::unstated;
    job.outcome = random_section(response::limits_fields());
    job.grid.cell = random_number(1e-6, 5e-3);
    job.workpiece.temperature = random_number(200, 500);
    job.workpiece.length = random_number(0.18, 3);
    job.artwork.file = random_text();
    job.materials[0].title = random_text();
    check(job);
    RC_ASSERT(difference(parse_job(write_job(job)), job) == "");
  }));
}

TEST(JobText, ReplacesByText) {
  const Job job = parse_job(kSample);
  const Job watts = replaced(job, "scan.power", "6 W");
  EXPECT_DOUBLE_EQ(watts.scan.power, 6.0);
  EXPECT_TRUE(std::isnan(watts.scan.power_share));
  EXPECT_THAT(watts.text, testing::HasSubstr("power = \"6 W\""));
  EXPECT_EQ(difference(parse_job(watts.text), watts), "");
  const Job share = replaced(watts, "scan.power", "60 %");
  EXPECT_DOUBLE_EQ(share.scan.power_share, 0.6);
  EXPECT_TRUE(std::isnan(share.scan.power));
  EXPECT_EQ(replaced(job, "scan.direction", "around").scan.direction, motion::Direction::around);
  EXPECT_EQ(replaced(job, "scan.passes", "3").scan.passes, 3);
  EXPECT_FALSE(replaced(job, "scan.two_way", "false").scan.two_way);
  EXPECT_EQ(replaced(job, "artwork.file", "o \"k\".png").artwork.file, "o \"k\".png");
  EXPECT_EQ(job.text, kSample);  // the original stays as it was
}

TEST(JobText, ReplacesBySi) {
  const Job job = parse_job(kSample);
  EXPECT_EQ(replaced(job, "scan.speed", 0.05).scan.speed, 0.05);
  EXPECT_EQ(replaced(job, "scan.power", 6.0).scan.power, 6.0);
  EXPECT_TRUE(std::isnan(replaced(job, "scan.power", 6.0).scan.power_share));
  EXPECT_EQ(replaced(job, "scan.passes", 2.0).scan.passes, 2);
  EXPECT_THAT(replaced(job, "scan.speed", 0.05).text, testing::HasSubstr("speed = \"3000 mm/min\""));
}

TEST(JobText, RefusesWhatDoesNotFit) {
  const Job job = parse_job(kSample);
  EXPECT_EQ(
      refusal([&] { replaced(job, "scan.powr", "6 W"); }),
      "\"scan.powr\" (no such parameter; expected a section and a key, such as scan.power). Did you mean "
      "scan.power?");
  EXPECT_EQ(refusal([&] { replaced(job, "scan", 1.0); }),
            "\"scan\" (no such parameter; expected a section and a key, such as scan.power). Did you mean "
            "scan.power?");
  EXPECT_EQ(refusal([&] { replaced(job, "colour", 1.0); }),
            "\"colour\" (no such parameter; expected a section and a key, such as scan.power)");
  EXPECT_EQ(refusal([&] { replaced(job, "scan.speed", "20 W"); }),
            "scan.speed = \"20 W\" (a power; expected a speed from 0.6 mm/min to 3000000 mm/min). Did you "
            "mean \"20 "
            "mm/min\"?");
  EXPECT_EQ(refusal([&] { replaced(job, "scan.speed", -1.0); }),
            "scan.speed = -60000 mm/min (out of range; expected a speed from 0.6 mm/min to 3000000 mm/min)");
  EXPECT_EQ(refusal([&] { replaced(job, "scan.speed", quantity::kUnset); }),
            "scan.speed = nan mm/min (out of range; expected a speed from 0.6 mm/min to 3000000 mm/min)");
  EXPECT_EQ(refusal([&] { replaced(job, "scan.passes", 2.5); }),
            "scan.passes = 2.5 (a number; expected a whole number from 1 to 100)");
  EXPECT_EQ(refusal([&] { replaced(job, "scan.direction", 1.0); }),
            "scan.direction = 1 (a number; expected one of \"axial\", \"around\")");
  EXPECT_EQ(refusal([&] { replaced(job, "scan.passes", "3\nspeed = 4"); }),
            "scan.passes = \"3\\nspeed = 4\" (a text; expected a whole number from 1 to 100)");
  EXPECT_THAT(refusal([&] { replaced(job, "scan.power", "12 W"); }),
              testing::StartsWith("scan.power = 12 W (more than the laser gives"));
}

TEST(JobText, ShowsValues) {
  const Job job = parse_job(kSample);
  EXPECT_EQ(value_at(job, "scan.power"), "80 %");
  EXPECT_EQ(value_at(job, "scan.speed"), "2500 mm/min");
  EXPECT_EQ(value_at(job, "scan.two_way"), "true");
  EXPECT_EQ(value_at(job, "scan.direction"), "axial");
  EXPECT_EQ(value_at(job, "workpiece.base"), "steel");
  EXPECT_EQ(value_at(job, "laser.order_axial"), "2");
  EXPECT_EQ(value_at(job, "laser.m2_axial"), "");
  EXPECT_THROW(value_at(job, "laser.colour"), quantity::JobError);
}

TEST(JobText, PutsBackEveryValueItShows) {
  const Job job =
      parse_job(altered("shape = \"straight\"",
                        "shape = \"table\"\nprofile = [[\"0 mm\", \"73 mm\"], [\"180 mm\", \"60.1 mm\"]]"));
  for (const std::string& address : addresses()) {
    const std::string value = value_at(job, address);
    if (value.empty()) continue;
    EXPECT_EQ(difference(replaced(job, address, value), job), "") << address << " = " << value;
  }
}

}  // namespace
}  // namespace circumfluence::job

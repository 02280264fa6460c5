// Truth: area means of a small picture, worked out by hand.
#include "motion/commands.h"

#include <gtest/gtest.h>

namespace circumfluence::motion {
namespace {

// Two pixels side by side, 1 mm each, black and 40 % white, the top 1 mm above the middle.
const artwork::Image kImage{2, 1, {0, 26214}, {}};

artwork::Placement placement(artwork::ToneUse tone) {
  return {.size_axial = 2e-3, .size_around = 2e-3, .axial = 1e-3, .tone = tone};
}

const std::vector<double> kEdges{-0.5e-3, 0, 1e-3, 1.5e-3, 2.5e-3};

TEST(Commands, GreyIsPowerInProportion) {
  const Commands commands(kImage, placement(artwork::ToneUse::grey), kEdges);
  Commands::Scratch scratch;
  std::vector<float> out(4);
  commands.row(-0.5e-3, 0.5e-3, out, scratch);
  EXPECT_EQ(out[0], 0);
  EXPECT_NEAR(out[1], 1.0, 1e-6);
  EXPECT_NEAR(out[2], 0.6, 1e-4);
  EXPECT_NEAR(out[3], 0.3, 1e-4);
  commands.row(0.5e-3, 1.5e-3, out, scratch);  // half above the picture
  EXPECT_NEAR(out[1], 0.5, 1e-6);
}

TEST(Commands, AThresholdTurnsItOnAndOff) {
  artwork::Placement p = placement(artwork::ToneUse::threshold);
  Commands::Scratch scratch;
  std::vector<float> out(4);
  p.threshold = 0.5;
  Commands(kImage, p, kEdges).row(-0.5e-3, 0.5e-3, out, scratch);
  EXPECT_EQ(out, (std::vector<float>{0, 1, 1, 0}));
  p.threshold = 0.7;
  Commands(kImage, p, kEdges).row(-0.5e-3, 0.5e-3, out, scratch);
  EXPECT_EQ(out, (std::vector<float>{0, 1, 0, 0}));
}

TEST(Commands, WantedIsWhereTheToneReachesTheThresholdInGreyToo) {
  artwork::Placement p = placement(artwork::ToneUse::grey);
  p.threshold = 0.55;
  Commands::Scratch scratch;
  std::vector<std::uint8_t> out(4, 9);
  Commands(kImage, p, kEdges).wanted(-0.5e-3, 0.5e-3, out, scratch);
  EXPECT_EQ(out, (std::vector<std::uint8_t>{0, 1, 1, 0}));
}

}  // namespace
}  // namespace circumfluence::motion

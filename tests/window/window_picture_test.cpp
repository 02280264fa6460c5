// Truth: how much of the plot area lies between the ends of windows made by hand, counted in the pixels of
// the PNG read back by libpng's own reader; for the table what window() itself says.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <png.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>

#include "appearance/chart.h"
#include "mark/small_job.h"
#include "quantity/error.h"
#include "window/window.h"

namespace circumfluence::window {
namespace {

using appearance::Colour;
using testing::HasSubstr;
using testing::ThrowsMessage;

constexpr double kInfinity = std::numeric_limits<double>::infinity();

struct Sight {
  std::map<Colour, int> count;
  int area = 0;
};

Sight read(const std::string& path) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  EXPECT_TRUE(png_image_begin_read_from_file(&image, path.c_str())) << image.message;
  image.format = PNG_FORMAT_RGB;
  std::vector<Colour> pixels(size_t(image.width) * image.height);
  EXPECT_TRUE(png_image_finish_read(&image, nullptr, pixels.data(), 0, nullptr)) << image.message;
  Sight out;
  for (const Colour& pixel : pixels) ++out.count[pixel];
  out.area = int(pixels.size());
  return out;
}

Sight drawn(const Window& window,
            const WindowPicture& picture = {.title = "A window", .subtitle = "made by hand"}) {
  const mark::TestFolder folder;
  write_picture(folder.file("window.png"), window, picture);
  return read(folder.file("window.png"));
}

// The tint that the most common colour of a state has, among those of the state's hue: the picture's own.
Colour colour_of(int outcome) {
  return appearance::tint(appearance::colour_of(appearance::verdict(outcome, true)), 0.38);
}

// One fill from 10 to 100 mm/s and up to 10 W whose ends are the same at every speed.
Window level(const Ends& ends, double least = 0.1) {
  Window out{{{least, 5, 10}, {0.01, 0.03, 0.1}, {1e-4}, {0}, {1}}, {}, {}, {}};
  out.ends.assign(3, ends);
  out.duration = {1000, 400, 150};
  return out;
}

double share(const Sight& sight, int outcome, double all) {
  const auto found = sight.count.find(colour_of(outcome));
  return found == sight.count.end() ? 0 : found->second / all;
}

TEST(WindowPicture, FillsWhatLiesBetweenTheEnds) {
  const Sight sight = drawn(level({1, 2, 4, 8}));
  const double all = 760.0 * 500.0;
  const double expected[4] = {0.1, 0.3, 0.4, 0.2};
  double sum = 0;
  for (int i = 0; i < 4; ++i) {
    const double found = share(sight, i, all);
    EXPECT_LT(found, expected[i] + 0.003) << i;  // 0.002: its square in the legend
    EXPECT_GT(found, 0.8 * expected[i]) << i;    // lines and letters cover some
    sum += found;
  }
  EXPECT_GT(sum, 0.85);
}

TEST(WindowPicture, SaysSoWhereNoPowerMarks) {
  const Sight sight = drawn(level({1, 2, kInfinity, 5}));
  const double all = 760.0 * 500.0;
  EXPECT_LT(share(sight, 2, all), 0.003);
  EXPECT_GT(share(sight, 3, all), 0.45);
}

TEST(WindowPicture, StretchesSmallPowersByTheLogarithm) {
  // From 0.1 W to 10 W straight, 0.2 W to 0.8 W were 6 % of the height; in the logarithm it is log 4 / log
  // 100, 30 %.
  const Sight sight = drawn(level({0.12, 0.15, 0.2, 0.8}));
  const double found = share(sight, 2, 760.0 * 500.0);
  EXPECT_LT(found, 0.304);
  EXPECT_GT(found, 0.15);  // lines and letters cover the rest
}

TEST(WindowPicture, ShadesWhereBothChancesAreAsAsked) {
  const Window window = level({0.5, 0.8, 1, 9});
  WindowPicture picture{.title = "t", .subtitle = "s", .marks = {{5, 0.03, "as set"}}};
  // Known to the last digit but for the power: marks with 95 % from exp(0.1 * 1.6449) W on, spares to 9 /
  // that.
  const std::vector<double> marks(2, std::log(1.0)), burns(2, std::log(9.0));
  for (int i = 0; i < 3; ++i) picture.outlooks.emplace_back(marks, burns, 0.1);
  const Sight sight = drawn(window, picture);
  const double wide = std::exp(0.164485);
  const double expected = (9 / wide - wide) / 10;
  const auto found = sight.count.find(appearance::tint(appearance::kSeriesColours[2], 0.5));
  ASSERT_NE(found, sight.count.end());
  EXPECT_LT(found->second / (760.0 * 500.0), expected + 0.003);
  EXPECT_GT(found->second / (760.0 * 500.0), 0.75 * expected);
}

TEST(WindowPicture, TakesASinglePower) {
  Window window = level({1, 2, 4, 8});
  window.axes.power = {4};  // shown from 2 W to 8 W: a third of it marks up to 4 W, two thirds from there on
  const Sight sight = drawn(window);
  EXPECT_NEAR(share(sight, 2, 760.0 * 500.0), 2.0 / 3, 0.12);
}

TEST(WindowPicture, RefusesWhatIsNoPicture) {
  const mark::TestFolder folder;
  const auto write = [&](const Window& window, const WindowPicture& picture = {}) {
    write_picture(folder.file("window.png"), window, picture);
  };
  Window one = level({1, 2, 4, 8});
  one.axes.speed.resize(1);
  EXPECT_THAT([&] { write(one); }, ThrowsMessage<quantity::ValidityError>(HasSubstr("speeds = 1")));
  WindowPicture few;
  few.outlooks.emplace_back(std::vector<double>{0}, std::vector<double>{1}, 0.1);
  EXPECT_THAT(
      [&] {
        write(level({1, 2, 4, 8}), few);
      },
      ThrowsMessage<quantity::ValidityError>(HasSubstr("outlooks = 1")));
  EXPECT_THROW(write_picture("/nowhere/window.png", level({1, 2, 4, 8}), {}), quantity::FileError);
  EXPECT_TRUE(folder.names().empty());
}

Ranking two_unknowns() {
  Unknown spot{"laser.spot", "size of the spot", 8e-5, 0.1, "um", true, Unknown::Of::spot};
  Unknown idle{"laser.power", "power that arrives", 7.5, 0.05, "W", true, Unknown::Of::power};
  return {{{spot, 0.9, 0.99, 0.1, 0.2}, {idle, 0.001, 0.002, 0.003, 0.004}}, 0.3, 0.2};
}

TEST(RankingPicture, DrawsThoseThatMatter) {
  const mark::TestFolder folder;
  EXPECT_TRUE(write_ranking(folder.file("rank.png"), two_unknowns(), End::marks, "a job"));
  const Sight sight = read(folder.file("rank.png"));
  // Bars of 0.9 of 420 pixels by 11, and the legend's square.
  EXPECT_NEAR(sight.count.at(appearance::kSeriesColours[0]), 0.9 * 420 * 11, 500);
  EXPECT_FALSE(write_ranking(folder.file("none.png"), {}, End::burns, "a job"));
  EXPECT_THAT(folder.names(), testing::ElementsAre("rank.png"));
}

TEST(RankingPicture, SaysItInWords) {
  EXPECT_THAT(text(two_unknowns()), testing::AllOf(HasSubstr("99 %       20 %  size of the spot"),
                                                   testing::Not(HasSubstr("arrives"))));
  EXPECT_THAT(json(two_unknowns()),
              testing::AllOf(HasSubstr("\"laser.power\""), HasSubstr("\"marks_spread\": 0.3")));
  EXPECT_THAT(text(Ranking{}), HasSubstr("nothing is in doubt"));
}

std::vector<std::vector<std::string>> cells(const std::string& path) {
  std::vector<std::vector<std::string>> out;
  std::ifstream file(path);
  for (std::string line; std::getline(file, line);) {
    std::vector<std::string> row(1);
    for (const char c : line)
      if (c == ',')
        row.emplace_back();
      else
        row.back() += c;
    out.push_back(row);
  }
  return out;
}

TEST(WindowTable, HoldsWhatTheWindowSays) {
  const mark::Scene scene = mark::prepare(mark::SmallJob().job);
  Axes axes = axes_of(scene.job, 5, 4);
  axes.spacing = {60e-6, 100e-6};
  axes.passes = {1, 2};
  const Window found = window(scene, axes);
  const Doubt doubt(scene, {.count = 8});
  const std::vector<Outlook> chances = outlooks(doubt, found);
  const mark::TestFolder folder;
  write_table(folder.file("all.csv"), found, chances);
  const auto rows = cells(folder.file("all.csv"));
  ASSERT_EQ(rows.size(), 1 + axes.settings());
  for (const auto& row : rows) ASSERT_EQ(row.size(), 16u);
  EXPECT_EQ(rows[0][0], "power [W]");
  EXPECT_EQ(rows[0][7], "marks [W]");
  const size_t at = axes.index(1, 0, 1, 2), row = 1 + at * axes.power.size() + 3;
  const auto number = [&](size_t column) { return std::stod(rows[row][column]); };
  EXPECT_NEAR(number(0), axes.power[3], 1e-8);
  EXPECT_NEAR(number(1), axes.speed[2] * 60e3, 1e-5);
  EXPECT_NEAR(number(2), 0.1, 1e-9);
  EXPECT_EQ(rows[row][4], "2");
  EXPECT_NEAR(number(7), found.ends[at].marks, 1e-8);
  EXPECT_NEAR(number(8), found.ends[at].burns, 1e-6);
  EXPECT_NEAR(number(9), found.ends[at].marks / axes.power[3], 1e-8);
  EXPECT_EQ(rows[row][11], response::kOutcomeNames[int(ruling(found.ends[at], axes.power[3]))]);
  EXPECT_NEAR(number(12), found.duration[at], 1e-5);
  EXPECT_NEAR(number(13), chances[at].at(axes.power[3]).marks, 1e-6);
}

TEST(WindowTable, IsWrittenWholeOrNotAtAll) {
  const mark::TestFolder folder;
  const Window window = level({1, 2, kInfinity, 8});
  const auto stop = [](double share) { return share < 0.5; };
  EXPECT_THROW(write_table(folder.file("t.csv"), window, {}, stop), quantity::Interrupted);
  EXPECT_TRUE(folder.names().empty());
  write_table(folder.file("t.csv"), window);
  const auto rows = cells(folder.file("t.csv"));
  ASSERT_EQ(rows.size(), 10u);
  EXPECT_EQ(rows[1][7], "inf");
  EXPECT_EQ(rows[1][13], "");
}

}  // namespace
}  // namespace circumfluence::window

// Truth: where a value lies on a straight or logarithmic scale, worked out by hand and looked up in the
// pixels of the PNG read back by libpng's own reader.
#include "appearance/chart.h"

#include <gtest/gtest.h>
#include <png.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <functional>
#include <limits>
#include <string>
#include <vector>

#include "appearance/eyes.h"
#include "quantity/error.h"

namespace circumfluence::appearance {
namespace {

namespace fs = std::filesystem;
constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
constexpr double kEndless = std::numeric_limits<double>::infinity();
constexpr Colour kSea{10, 200, 220}, kRose{230, 20, 120};

struct Sight {
  std::vector<Colour> pixels;
  int width = 0, height = 0;
  Colour at(int x, int y) const { return pixels[size_t(y) * size_t(width) + size_t(x)]; }
  size_t count(Colour colour) const { return size_t(std::count(pixels.begin(), pixels.end(), colour)); }
};

Sight read(const std::string& path) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  EXPECT_TRUE(png_image_begin_read_from_file(&image, path.c_str())) << image.message;
  image.format = PNG_FORMAT_RGB;
  Sight sight{std::vector<Colour>(size_t(image.width) * image.height), int(image.width), int(image.height)};
  EXPECT_TRUE(png_image_finish_read(&image, nullptr, sight.pixels.data(), 0, nullptr)) << image.message;
  return sight;
}

// A name of this process alone: tests run beside each other.
std::string scratch(const char* name) {
  return (fs::path(testing::TempDir()) / (std::to_string(getpid()) + name)).string();
}

Sight drawn(const Chart& chart) {
  const std::string path = scratch("chart.png");
  write_chart(path, chart);
  Sight sight = read(path);
  fs::remove(path);
  return sight;
}

Sight drawn(const BarChart& chart) {
  const std::string path = scratch("bars.png");
  write_bars(path, chart);
  Sight sight = read(path);
  fs::remove(path);
  return sight;
}

Chart chart_of(int width, int height) {
  Chart chart;
  chart.title = "A title";
  chart.subtitle = "and what is below it";
  chart.x = {"speed [mm/s]", 0.0, 100.0};
  chart.y = {"power [W]", 0.0, 10.0};
  chart.width = width;
  chart.height = height;
  return chart;
}

Pixels flat(Colour colour) {
  return {1, 1, {colour}};
}

// Where the plot area lies: a field of one colour fills it to the pixel.
Box area_of(Chart chart) {
  chart.field = flat(kRose);
  chart.curves.clear(), chart.bands.clear(), chart.markers.clear(), chart.legend.clear();
  const Sight sight = drawn(chart);
  for (int y = 0; y < sight.height; ++y)
    for (int x = 0; x < sight.width; ++x)
      if (sight.at(x, y) == kRose) return {double(x), double(y), double(chart.width), double(chart.height)};
  ADD_FAILURE() << "no field";
  return {};
}

bool holds(const Box& box, int x, int y) {
  return x >= box.x && x < box.x + box.width && y >= box.y && y < box.y + box.height;
}

// Pixels that differ, inside and outside the plot area.
std::pair<int, int> changes(const Sight& one, const Sight& other, const Box& area) {
  EXPECT_EQ(one.width, other.width);
  EXPECT_EQ(one.height, other.height);
  int in = 0, out = 0;
  for (int y = 0; y < std::min(one.height, other.height); ++y)
    for (int x = 0; x < std::min(one.width, other.width); ++x)
      if (one.at(x, y) != other.at(x, y)) ++(holds(area, x, y) ? in : out);
  return {in, out};
}

TEST(Chart, FieldFillsThePlotAreaTopRowFirst) {
  Chart chart = chart_of(301, 200);
  chart.field = {2, 2, {{1, 1, 1}, {2, 2, 2}, {3, 3, 3}, {4, 4, 4}}};
  const Sight sight = drawn(chart);
  const Box area = area_of(chart);
  const int x = int(area.x), y = int(area.y);
  EXPECT_EQ(sight.at(x, y), (Colour{1, 1, 1}));
  EXPECT_EQ(sight.at(x + 149, y + 99), (Colour{1, 1, 1}));
  EXPECT_EQ(sight.at(x + 300, y), (Colour{2, 2, 2}));
  EXPECT_EQ(sight.at(x, y + 199), (Colour{3, 3, 3}));
  EXPECT_EQ(sight.at(x + 151, y + 100), (Colour{4, 4, 4}));
  chart.field = flat(kSea);
  EXPECT_EQ(drawn(chart).count(kSea), 301u * 200u);
}

TEST(Chart, CurvesStayWithinThePlotArea) {
  Chart chart = chart_of(300, 200);
  const Box area = area_of(chart);
  const Sight without = drawn(chart);
  Curve wild{.points = {{-50.0, -20.0},
                        {1e9, 1e9},
                        {-1e9, 5.0},
                        {50.0, 1e18},
                        {50.0, -1e18},
                        {101.0, 10.0},
                        {-1.0, 10.0},
                        {0.0, -1.0},
                        {100.0, 0.0}},
             .colour = kSea,
             .thickness = 9.0};
  chart.curves = {wild, wild};
  chart.curves[1].dashed = true;
  Band band{.lower = {{-1e9, -1e9}, {1e9, -3.0}}, .upper = {{-1e9, 3.0}, {1e9, 1e9}}};
  chart.bands = {band, band};
  chart.bands[1].hatched = true;
  const auto [in, out] = changes(drawn(chart), without, area);
  EXPECT_GT(in, 1000);
  // The frame lies next to the area and is drawn after the curves.
  EXPECT_EQ(out, 0);
}

TEST(Chart, ACurveLiesWhereItsValuesSay) {
  Chart chart = chart_of(300, 300);
  chart.curves = {{.points = {{0.0, 2.5}, {100.0, 2.5}}, .colour = kSea}};
  const auto row_of = [&] {
    const Box area = area_of(chart);
    const Sight sight = drawn(chart);
    double sum = 0.0, rows = 0.0;
    for (int y = int(area.y); y < int(area.y) + 300; ++y)
      if (sight.at(int(area.x) + 40, y)[0] < 100) sum += y + 0.5 - area.y, ++rows;
    EXPECT_GT(rows, 0.0);
    return sum / rows;
  };
  EXPECT_NEAR(row_of(), 225.0, 1.0);
  chart.y = {"power [W]", 0.1, 100.0, true};
  chart.curves[0].points = {{0.0, 10.0}, {100.0, 10.0}};
  EXPECT_NEAR(row_of(), 100.0, 1.0);  // two of three decades up
}

TEST(Chart, NoPlaceBreaksACurve) {
  Chart chart = chart_of(300, 200);
  const Box area = area_of(chart);
  const auto seen = [&](double hole) {
    chart.curves = {{.points = {{0, 5}, {40, 5}, {50, hole}, {60, 5}, {100, 5}}, .colour = kSea}};
    const Sight sight = drawn(chart);
    const int middle = int(area.y) + 100;
    std::vector<bool> inked;
    for (const int x : {60, 150, 240}) inked.push_back(sight.at(int(area.x) + x, middle)[0] < 100);
    return inked;
  };
  EXPECT_EQ(seen(5.0), (std::vector<bool>{true, true, true}));
  EXPECT_EQ(seen(kNothing), (std::vector<bool>{true, false, true}));
  EXPECT_EQ(seen(kEndless), (std::vector<bool>{true, false, true}));
  chart.y = {"power [W]", 0.5, 50.0, true};
  EXPECT_EQ(seen(0.0), (std::vector<bool>{true, false, true}));
  EXPECT_EQ(seen(-3.0), (std::vector<bool>{true, false, true}));
}

TEST(Chart, BandsFillBetweenTheirCurves) {
  Chart chart = chart_of(200, 200);
  const Box area = area_of(chart);
  const Sight bare = drawn(chart);
  chart.bands = {{.lower = {{20, 2}, {50, 2}, {60, kNothing}, {70, 2}, {80, 2}},
                  .upper = {{20, 8}, {50, 8}, {60, 8}, {70, 8}, {80, 8}},
                  .colour = {0, 0, 255}}};
  const Sight soft = drawn(chart);
  const auto coloured = [&](const Sight& sight, double x, double y) {
    const int column = int(area.x + 2.0 * x), row = int(area.y + 200.0 - 20.0 * y);
    return sight.at(column, row) != bare.at(column, row);
  };
  EXPECT_TRUE(coloured(soft, 35, 5.1));
  EXPECT_TRUE(coloured(soft, 75, 5.1));
  EXPECT_FALSE(coloured(soft, 60, 5.1));
  EXPECT_FALSE(coloured(soft, 35, 1.1));
  EXPECT_FALSE(coloured(soft, 35, 9.1));
  EXPECT_EQ(changes(soft, bare, area).second, 0);
  chart.bands[0].hatched = true;
  const int lines = changes(drawn(chart), bare, area).first, filled = changes(soft, bare, area).first;
  EXPECT_GT(lines, filled / 20);
  EXPECT_LT(lines, filled / 2);
}

// Nothing is as far down as zero on a logarithmic axis.
TEST(Chart, ABandDownToZeroReachesTheFootOfALogarithmicAxis) {
  Chart chart = chart_of(200, 200);
  chart.y = {"depth [µm]", 0.01, 10.0, true};
  const Box area = area_of(chart);
  chart.bands = {{.lower = {{0, 0}, {100, 0}}, .upper = {{0, 1}, {100, 1}}, .colour = {0, 0, 255}}};
  const Sight sight = drawn(chart);
  const Colour foot = sight.at(int(area.x) + 150, int(area.y) + 197);
  EXPECT_LT(foot[0], 230);
  EXPECT_GT(foot[2], 240);
}

TEST(Chart, WithoutAPlaceALabelGoesToTheLegend) {
  Chart chart = chart_of(100, 100);
  chart.curves = {{.points = {{0, 5}, {100, 5}}, .colour = kSea, .label = "short"}};
  const Sight fits = drawn(chart);
  chart.curves[0].label = "much too long for a plot area as small as this one is";
  const Sight told = drawn(chart);
  EXPECT_EQ(told.height, fits.height + 24);
  chart.curves[0].label.clear();
  chart.markers = {{.at = {50, 5}, .label = "much too long for a plot area as small as this one is"}};
  EXPECT_EQ(drawn(chart).height, fits.height + 24);
}

TEST(Chart, ALabelInterruptsItsCurve) {
  Chart chart = chart_of(300, 200);
  chart.curves = {{.points = {{0, 5}, {100, 5}}, .colour = kSea}};
  const size_t whole = drawn(chart).count(kSea);
  chart.curves[0].label = "i";
  EXPECT_LT(drawn(chart).count(kSea), whole - 10);
}

TEST(Chart, MarkersOutsideAreLeftOut) {
  Chart chart = chart_of(300, 200);
  const Box area = area_of(chart);
  const Sight bare = drawn(chart);
  chart.markers = {{.at = {50, 5}, .label = "here", .colour = kSea}};
  const Sight inside = drawn(chart);
  EXPECT_EQ(inside.at(int(area.x) + 150, int(area.y) + 100), kSea);
  chart.markers = {{.at = {50, 11}, .label = "above", .colour = kSea}};
  EXPECT_EQ(drawn(chart).pixels, bare.pixels);
}

TEST(Chart, TheTopEdgeHasItsOwnTicks) {
  Chart chart = chart_of(300, 200);
  const Box plain = area_of(chart);
  chart.top = {{25.0, "60 min"}, {75.0, "20 min"}, {130.0, "beyond"}};
  chart.top_title = "job time";
  const Box area = area_of(chart);
  EXPECT_GT(area.y, plain.y + 30.0);
  const Sight sight = drawn(chart);
  const int row = int(area.y) - 6;
  EXPECT_EQ(sight.at(int(area.x) + 75, row), kInk);
  EXPECT_EQ(sight.at(int(area.x) + 225, row), kInk);
  EXPECT_EQ(sight.at(int(area.x) + 150, row), kPaper);
}

TEST(Chart, LegendShowsEverySwatch) {
  Chart chart = chart_of(400, 200);
  const int without = drawn(chart).height;
  chart.legend = {{"an area", kSea}, {"another", kRose}};
  const Sight two = drawn(chart);
  EXPECT_EQ(two.count(kSea), 20u * 14u);
  EXPECT_EQ(two.count(kRose), 20u * 14u);
  EXPECT_EQ(two.height, without + 24);
  for (int i = 0; i < 20; ++i) chart.legend.push_back({"entry with a longer text", kSea});
  const Sight many = drawn(chart);
  EXPECT_EQ(many.count(kSea), 21u * 20u * 14u);
  EXPECT_GE(many.height, without + 24 * 11);
  chart.legend = {{std::string(40, 'm') + " " + std::string(30, 'm'), kSea}};  // broken in two
  EXPECT_EQ(drawn(chart).height, without + 24 + 16);
}

TEST(Chart, AnyShapeAndRangeIsDrawn) {
  for (const auto& [width, height] : {std::pair{100, 100}, {100, 4000}, {4000, 100}, {720, 480}})
    for (const auto& [from, to, logarithmic] : {std::tuple{0.0, 1.0, false},
                                                {-1e12, 1e12, false},
                                                {1e9, 1e9 + 2.0, false},
                                                {1e-9, 1e12, true},
                                                {3.0, 3.0001, true},
                                                {2.0, 9.0, true}}) {
      Chart chart = chart_of(width, height);
      chart.x = {"a quantity with a rather long name [unit]", from, to, logarithmic};
      chart.y = chart.x;
      chart.curves = {{.points = {{from, from}, {to, to}}, .label = "a diagonal"}};
      const Sight sight = drawn(chart);
      EXPECT_GE(sight.width, width + 78);
      EXPECT_GE(sight.height, height + 58);
    }
}

TEST(Chart, RefusesWhatCannotBeDrawn) {
  const auto refused = [](const char* key, const std::function<void(Chart&)>& spoil) {
    Chart chart = chart_of(300, 200);
    spoil(chart);
    const std::string path = scratch("refused.png");
    try {
      write_chart(path, chart);
      ADD_FAILURE() << "drawn: " << key;
    } catch (const quantity::ValidityError& error) {
      EXPECT_NE(std::string(error.what()).find(key), std::string::npos) << error.what();
    }
    EXPECT_FALSE(fs::exists(path));
  };
  refused("x = 5 to 5 (an empty range", [](Chart& c) { c.x.from = c.x.to = 5.0; });
  refused("y = 3 to 1 (an empty range", [](Chart& c) { c.y.from = 3.0, c.y.to = 1.0; });
  refused("y = nan to 10 (limits that are not finite", [](Chart& c) { c.y.from = kNothing; });
  refused("x = 0 to inf (limits that are not finite", [](Chart& c) { c.x.to = kEndless; });
  refused("not finite", [](Chart& c) { c.x = {}; });
  refused("x = 0 to 100 (a logarithmic axis", [](Chart& c) { c.x.logarithmic = true; });
  refused("y = -1 to 10 (a logarithmic axis", [](Chart& c) { c.y = {"", -1.0, 10.0, true}; });
  refused("no ticks", [](Chart& c) { c.x.from = 1.0, c.x.to = 1.0 + 1e-12; });
  refused("no ticks", [](Chart& c) { c.x.to = 1e30; });
  refused("size = 99 x 200", [](Chart& c) { c.width = 99; });
  refused("size = 300 x 4001", [](Chart& c) { c.height = 4001; });
  refused("field = 2 x 2 with 3 colours", [](Chart& c) { c.field = {2, 2, {kSea, kSea, kSea}}; });
  refused("field = 0 x 2", [](Chart& c) { c.field = {0, 2, {}}; });
  refused("band = 1 and 0 points", [](Chart& c) { c.bands = {{.lower = {{1, 1}}, .upper = {}}}; });
  refused("marker \"m\" = nan, 1", [](Chart& c) { c.markers = {{.at = {kNothing, 1}, .label = "m"}}; });
  refused("marker \"m\" = 0, 1", [](Chart& c) {
    c.x = {"", 1.0, 10.0, true};
    c.markers = {{.at = {0.0, 1.0}, .label = "m"}};
  });
  refused("tick \"t\" = nan", [](Chart& c) { c.top = {{kNothing, "t"}}; });
}

TEST(Chart, FailureLeavesNothing) {
  const fs::path path = fs::path(testing::TempDir()) / "circumfluence-no-such-folder/a.png";
  EXPECT_THROW(write_chart(path.string(), chart_of(300, 200)), quantity::FileError);
  EXPECT_THROW(write_bars(path.string(), {.bars = {{"one", 0.1, 0.2}}}), quantity::FileError);
  EXPECT_FALSE(fs::exists(path.parent_path()));
}

TEST(Chart, TintGoesFromPaperToTheColour) {
  EXPECT_EQ(tint(kSea, 0.0), kPaper);
  EXPECT_EQ(tint(kSea, 1.0), kSea);
  EXPECT_EQ(tint({55, 155, 255}, 0.5), (Colour{155, 205, 255}));
}

TEST(Chart, SeriesColoursStandApartForColourBlindEyes) {
  for (int eye = 0; eye < kEyes; ++eye)
    for (const Colour& one : kSeriesColours) {
      EXPECT_GT(ciede2000(seen_by(eye, one), seen_by(eye, kPaper)), 30.0);
      EXPECT_GT(ciede2000(seen_by(eye, one), seen_by(eye, kInk)), 17.0);
      for (const Colour& other : kSeriesColours)
        EXPECT_TRUE(&one == &other || ciede2000(seen_by(eye, one), seen_by(eye, other)) > 21.0);
    }
}

TEST(Bars, AreAsLongAsTheirValues) {
  const Sight sight =
      drawn(BarChart{.title = "Ranking", .axis = "share [1]", .bars = {{"a", 0.5, 0.75}, {"b", 0.0, 1.0}}});
  const size_t swatch = 20 * 14, high = 11;
  EXPECT_EQ(sight.count(kSeriesColours[0]), swatch + high * 210u);
  EXPECT_EQ(sight.count(tint(kSeriesColours[0], 0.4)), swatch + high * (315u + 420u));
}

TEST(Bars, StrayEstimatesEndAtTheScale) {
  const Sight sight = drawn(BarChart{.bars = {{"a", -0.1, 1.3}}});
  EXPECT_EQ(sight.count(kSeriesColours[0]), 20u * 14u);
  EXPECT_EQ(sight.count(tint(kSeriesColours[0], 0.4)), 20u * 14u + 11u * 420u);
}

TEST(Bars, RefuseNothingAndNoNumbers) {
  const std::string path = scratch("none.png");
  EXPECT_THROW(write_bars(path, {}), quantity::ValidityError);
  EXPECT_THROW(write_bars(path, {.bars = {{"a", kNothing, 0.5}}}), quantity::ValidityError);
  EXPECT_THROW(write_bars(path, {.bars = {{"a", 0.5, kEndless}}}), quantity::ValidityError);
  EXPECT_THROW(write_bars(path, {.bars = {{.label = "a"}}}), quantity::ValidityError);
}

}  // namespace
}  // namespace circumfluence::appearance

// Truth: closed forms (places on a cylinder, behind a step, the sky at the foot of a wall, light on a disc),
// marching along lines of sight in small steps, symmetry, and light gathered over all directions by plain
// summation.
#include "look/round.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <random>
#include <sstream>

#include "quantity/constants.h"
#include "quantity/error.h"
#include "workpiece/made_parts.h"

namespace circumfluence::look {
namespace {

using quantity::kPi;
using workpiece::Part;
using workpiece::Profile;
using workpiece::Shape;

Part part(Shape shape) {
  Part out = workpiece::straight_part();
  out.shape = shape;
  out.diameter = 0.06;
  return out;
}
Profile rows(Shape shape, const quantity::Pairs& profile) {
  Part out = part(shape);
  out.diameter = quantity::kUnset;
  out.profile = profile;
  return Profile(out);
}
Profile cylinder() {
  return Profile(part(Shape::straight));
}
Profile cone() {
  Part out = part(Shape::tapered);
  out.end_diameter = 0.03;
  return Profile(out);
}
Profile stepped() {
  return rows(Shape::stepped, {{0.0, 0.06}, {0.07, 0.03}});
}
Profile turned() {
  return rows(Shape::table, {{0.0, 0.04}, {0.03, 0.06}, {0.0555, 0.05}, {0.1, 0.05}});
}

Shade grey(double diffuse, double mirror = 0, double slope = 0.2) {
  return {{diffuse, diffuse, diffuse}, {mirror, mirror, mirror}, slope};
}

// All around and along the part in blocks, of one shade.
Skin skin_of(const Shade& shade, int around = 360, int axial = 100) {
  Skin out;
  out.around = around;
  out.axial = axial;
  out.reference_radius = 0.03;
  out.around_from = -kPi * 0.03;
  out.block_around = 2 * kPi * 0.03 / around;
  out.block_axial = 0.1 / axial;
  const size_t size = size_t(around) * size_t(axial);
  out.diffuse.assign(size, {float(shade.diffuse[0]), float(shade.diffuse[1]), float(shade.diffuse[2])});
  out.mirror.assign(size, {float(shade.mirror[0]), float(shade.mirror[1]), float(shade.mirror[2])});
  out.slope.assign(size, float(shade.slope));
  out.ground = shade;
  return out;
}
appearance::Linear lit(const Shade& shade, const Direction& normal, double tilt) {
  return look::lit(shade, stand(normal, Eye(tilt), 1));
}

// Three degrees by 3 mm dark, about the block that holds the place.
Skin spotted(double axial, double azimuth) {
  Skin out = skin_of(grey(0.9));
  const int row = int((azimuth + kPi) / (2 * kPi) * 360), column = int(axial / out.block_axial);
  for (const int up : {-1, 0, 1})
    for (const int along : {-1, 0, 1}) out.diffuse[size_t((row + up) * 100 + column + along)] = {0, 0, 0};
  return out;
}

// Where the dark pixels lie, in pixels from the upper left corner, and how many they are.
struct Dark {
  double x = 0, y = 0;
  int count = 0;
};
Dark dark(const appearance::Pixels& pixels) {
  Dark out;
  for (int y = 0; y < pixels.height; ++y)
    for (int x = 0; x < pixels.width; ++x)
      if (pixels.rgb[size_t(y * pixels.width + x)][1] < 100) {
        out.x += x + 0.5;
        out.y += y + 0.5;
        ++out.count;
      }
  out.x /= std::max(out.count, 1);
  out.y /= std::max(out.count, 1);
  return out;
}

TEST(Round, AMarkLiesWhereTheCylinderPutsIt) {
  for (const double tilt : {-0.6, 0.0, 0.17, 0.9})
    for (const double azimuth : {-0.7, 0.0087, 0.9}) {
      const View view{.turn = azimuth / 3, .tilt = tilt, .width = 260, .height = 320};
      const double axial = 0.0305, pixel = pixel_of(cylinder(), view);
      const Dark seen = dark(render(spotted(axial, azimuth), cylinder(), view));
      ASSERT_GT(seen.count, 4) << tilt << " " << azimuth;
      const double middle = (std::floor((azimuth + kPi) * 180 / kPi) + 0.5) * kPi / 180 - kPi - azimuth / 3;
      const double up = (axial - 0.05) * std::cos(tilt) - 0.03 * std::cos(middle) * std::sin(tilt);
      EXPECT_NEAR(seen.x, 130 - 0.03 * std::sin(middle) / pixel, 0.5);
      EXPECT_NEAR(seen.y, 160 - up / pixel, 0.5);
    }
}

TEST(Round, LyingItIsTheSamePictureTurned) {
  const View upright{.turn = 0.2, .tilt = 0.3, .width = 200, .height = 300};
  const View lying{.turn = 0.2, .tilt = 0.3, .width = 300, .height = 200, .upright = false};
  const appearance::Pixels one = render(spotted(0.02, 0.4), cylinder(), upright);
  const appearance::Pixels other = render(spotted(0.02, 0.4), cylinder(), lying);
  int differ = 0;
  for (int y = 0; y < 300; ++y)
    for (int x = 0; x < 200; ++x)
      differ += one.rgb[size_t(y * 200 + x)] != other.rgb[size_t(x * 300 + 299 - y)];
  EXPECT_LE(differ, 5);  // rounding, on edges of blocks
}

TEST(Round, TheBackIsHidden) {
  const Skin skin = spotted(0.05, 0.0);
  EXPECT_EQ(dark(render(skin, cylinder(), {.turn = kPi, .width = 200, .height = 300})).count, 0);
  EXPECT_GT(dark(render(skin, cylinder(), {.turn = 0, .width = 200, .height = 300})).count, 0);
}

TEST(Round, AShoulderHidesWhatLiesBehindIt) {
  // From below, the wider body stands before the narrow end for (0.03 - 0.015) / tan(tilt) of its length.
  const double tilt = -0.8, hidden = 0.015 * std::tan(0.8);
  const View view{.tilt = tilt, .width = 300, .height = 400};
  EXPECT_EQ(dark(render(spotted(0.07 + hidden - 3e-3, 0.0), stepped(), view)).count, 0);
  EXPECT_GT(dark(render(spotted(0.07 + hidden + 2e-3, 0.0), stepped(), view)).count, 0);
}

TEST(Round, ASymmetricPartGivesASymmetricOutline) {
  for (const Profile& profile : {cylinder(), cone(), stepped(), turned()}) {
    const View view{.tilt = 0.4, .width = 201, .height = 300};
    const appearance::Pixels pixels = render(skin_of(grey(0.5)), profile, view);
    for (int y = 0; y < 300; ++y)
      for (int x = 0; x < 100; ++x) {
        const bool left = pixels.rgb[size_t(y * 201 + x)] == view.backdrop;
        ASSERT_EQ(left, pixels.rgb[size_t(y * 201 + 200 - x)] == view.backdrop) << x << " " << y;
      }
  }
}

TEST(Round, TurningIsPeriodicAndThreadsDoNotCount) {
  const Skin skin = spotted(0.05, 0.3);
  const appearance::Pixels none = render(skin, cone(), {.turn = 0.1, .width = 120, .height = 160});
  const appearance::Pixels whole = render(skin, cone(), {.turn = 0.1 + 2 * kPi, .width = 120, .height = 160});
  int differ = 0;
  for (size_t i = 0; i < none.rgb.size(); ++i) differ += none.rgb[i] != whole.rgb[i];
  EXPECT_LE(differ, 2);
  EXPECT_EQ(none.rgb, render(skin, cone(), {.turn = 0.1, .width = 120, .height = 160, .threads = 3}).rgb);
  const std::array turns{-0.4, 0.1};
  EXPECT_EQ(none.rgb, render_around(skin, cone(), {.width = 120, .height = 160}, turns)[1].rgb);
}

// A line of sight: how far toward the eye a place lies on it [m], and whether it is inside of the part.
struct Line {
  const Profile& profile;
  Eye eye;
  double right, up;
  double axial(double reach) const { return 0.05 + up * eye.to.toward + reach * eye.to.along; }
  double across(double reach) const { return std::hypot(right, -up * eye.to.along + reach * eye.to.toward); }
  bool inside(double reach) const {
    return axial(reach) > 0 && axial(reach) < 0.1 && across(reach) < profile.radius(axial(reach));
  }
  double reach(const Sight& at) const {
    const double radius = std::abs(right / std::sin(at.azimuth));
    return std::abs(eye.to.along) > 0.5 ? (at.axial - axial(0)) / eye.to.along
                                        : (radius * std::cos(at.azimuth) + up * eye.to.along) / eye.to.toward;
  }
  double nearest() const {  // by steps of 50 um; NaN: it misses
    for (double at = 0.12; at > -0.12; at -= 5e-5)
      if (inside(at)) return at;
    return std::nan("");
  }
};

TEST(Round, LinesOfSightEndWhereTheyFirstEnter) {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> any(-1, 1);
  for (const Profile& profile : {cylinder(), cone(), stepped(), turned()}) {
    const Solid solid(profile);
    int met = 0, other = 0;
    for (int i = 0; i < 400; ++i) {
      const Line line{profile, Eye(any(random) * kPi / 2), 0.04 * any(random), 0.07 * any(random)};
      const auto sight = solid.front(line.eye, line.right, line.up);
      const double nearest = line.nearest();
      if (!sight || std::isnan(nearest)) {
        other += sight.has_value() == std::isnan(nearest);  // a chord shorter than a step
        continue;
      }
      ++met;
      EXPECT_NEAR(line.reach(*sight), nearest, 6e-5)
          << line.eye.to.along << " " << line.right << " " << line.up;
      const Direction& n = sight->normal;
      EXPECT_NEAR(n.along * n.along + n.across * n.across + n.toward * n.toward, 1, 1e-9);
      EXPECT_GE(n.along * line.eye.to.along + n.toward * line.eye.to.toward, -1e-6);
    }
    EXPECT_GT(met, 100);
    EXPECT_LE(other, 2);
  }
}

TEST(Round, ManyShortPiecesLookLikeTheCurveTheyFollow) {
  // A sphere's zone of 400 frusta: places met lie on the sphere, and it hides nothing from itself.
  quantity::Pairs profile;
  for (int i = 0; i <= 400; ++i) {
    const double axial = 0.1 * i / 400;
    profile.push_back({axial, 2 * std::sqrt(0.06 * 0.06 - (axial - 0.05) * (axial - 0.05))});
  }
  const Solid solid(rows(Shape::table, profile));
  int met = 0;
  for (const double tilt : {-1.2, -0.3, 0.0, 0.3, 1.2})
    for (double right = -0.035; right < 0.036; right += 0.007)
      for (double up = -0.035; up < 0.036; up += 0.007) {
        const auto sight = solid.front(Eye(tilt), right, up);
        if (!sight || sight->face) continue;
        ++met;
        const double toward = std::sqrt(0.06 * 0.06 - right * right - up * up);
        EXPECT_NEAR(sight->axial, 0.05 + up * std::cos(tilt) + toward * std::sin(tilt), 2e-5);
        EXPECT_EQ(sight->open, 1);
      }
  EXPECT_GT(met, 300);
}

TEST(Round, AStepDimsTheSkyAsAWallDoes) {
  // At the foot of a high wall half of the sky is hidden; far from it nothing is.
  const Solid solid(rows(Shape::stepped, {{0.0, 1.0}, {0.05, 0.02}}));
  EXPECT_NEAR(solid.front(Eye(0), 0, 1e-5)->open, 0.5, 0.03);
  EXPECT_GT(solid.front(Eye(0), 0, 0.0495)->open, 0.5);
  EXPECT_NEAR(solid.front(Eye(0), 0, -0.02)->open, 1, 1e-6);
  EXPECT_GT(Solid(stepped()).front(Eye(0), 0, 0.0495)->open, 0.9);
  EXPECT_EQ(Solid(cylinder()).front(Eye(0), 0, 0)->open, 1);
}

TEST(Round, AWhiteDiffuserFacingTheEyeIsNineTenths) {
  for (const double diffuse : {0.2, 0.5, 1.0})
    EXPECT_NEAR(lit(grey(diffuse), {0, 0, 1}, 0)[1], 0.9 * diffuse, 1e-6);
}

// What a diffuser facing the eye gets, gathered over all directions by what a mirror shows from each: it
// stands half-way. A mirror as faint as that is far from being compressed; its rise towards grazing is taken
// off.
double gathered(double slope) {
  constexpr int kPolar = 300, kTurn = 600;
  constexpr double kFaint = 1e-3;
  const Shade mirror = grey(0, kFaint, slope);
  double sum = 0;
  for (int i = 0; i < kPolar; ++i)
    for (int j = 0; j < kTurn; ++j) {
      const double polar = (i + 0.5) / kPolar * kPi / 2, turn = (j + 0.5) / kTurn * 2 * kPi, half = polar / 2;
      const Direction normal{std::sin(half) * std::sin(turn), std::sin(half) * std::cos(turn),
                             std::cos(half)};
      const double grazing = 1 - std::min(1.0, std::hypot(normal.toward, slope));
      const double share = kFaint + std::pow(grazing, 5) * kFaint / 0.04 * (1 - kFaint);
      sum += lit(mirror, normal, 0)[1] / share * std::cos(polar) * std::sin(polar);
    }
  return sum * (kPi / 2 / kPolar) * (2 * kPi / kTurn) / kPi;
}

TEST(Round, TheLampsThatAMirrorShowsAreThoseThatLightADiffuser) {
  EXPECT_NEAR(gathered(1e-3), 0.9, 0.01);
  EXPECT_NEAR(gathered(0.1), 0.9, 0.02);  // rough ones show them wider, not more of them
}

TEST(Round, LightIsConservedOnADiscSeenFlatOn) {
  // The end of a cylinder: its area times the light of a diffuser that looks along the axis.
  const View view{.tilt = kPi / 2, .width = 200, .height = 200, .backdrop = {0, 0, 0}};
  const appearance::Pixels pixels = render(skin_of(grey(0.6)), cylinder(), view);
  double sum = 0;
  for (const appearance::Colour& pixel : pixels.rgb) sum += appearance::linear_from_srgb(pixel)[1];
  const double pixel = pixel_of(cylinder(), view), light = lit(grey(0.6), {1, 0, 0}, kPi / 2)[1];
  EXPECT_NEAR(sum * pixel * pixel / (kPi * 0.03 * 0.03 * light), 1, 0.004);
}

TEST(Round, SmootherMirrorsShowBrighterNarrowerLamps) {
  const auto across = [](double slope) {
    std::vector<double> out;
    for (int i = -200; i <= 200; ++i)
      out.push_back(lit(grey(0, 0.04, slope), {0, std::sin(i / 200.0), std::cos(i / 200.0)}, 0)[1]);
    return out;
  };
  const auto smooth = across(0.02), rough = across(0.4);
  const auto peak = std::max_element(smooth.begin(), smooth.end());
  EXPECT_GT(*peak, 1.5 * *std::max_element(rough.begin(), rough.end()));
  EXPECT_NEAR(double(peak - smooth.begin()) / 200 - 1, 0.375, 0.02);  // half-way to the lamp at 0.75 rad
}

TEST(Round, PixelsSayHowFarTheyReach) {
  const auto pixel = [](const Profile& profile, double tilt, bool upright) {
    return pixel_of(profile, {.tilt = tilt, .width = 400, .height = 500, .upright = upright});
  };
  EXPECT_NEAR(pixel(cylinder(), 0, true), 0.1 / 500 / 0.92, 1e-12);
  EXPECT_NEAR(pixel(cylinder(), kPi / 2, true), 0.06 / 400 / 0.92, 1e-12);
  EXPECT_NEAR(pixel(cone(), 0, false), 0.1 / 400 / 0.92, 1e-12);
  EXPECT_NEAR(pixel(cylinder(), 0.5, true), (0.1 * std::cos(0.5) + 0.06 * std::sin(0.5)) / 500 / 0.92, 1e-12);
}

TEST(Round, FineBlocksAreAveragedNotPicked) {
  // Stripes of a hundredth of a pixel: as bright as their mean.
  Skin skin = skin_of(grey(0), 36000, 10);
  for (size_t i = 0; i < skin.diffuse.size(); i += 20)
    for (size_t k = 0; k < 10; ++k) skin.diffuse[i + k] = {0.6f, 0.6f, 0.6f};
  const View view{.tilt = 0, .width = 40, .height = 60, .backdrop = {0, 0, 0}};
  const appearance::Pixels pixels = render(skin, cylinder(), view);
  EXPECT_NEAR(appearance::linear_from_srgb(pixels.rgb[30 * 40 + 20])[1], 0.3 * 0.9, 0.02);
}

TEST(Round, APartWithoutAMapIsGround) {
  Skin none;
  none.ground = grey(0.5);
  EXPECT_EQ(render(none, cylinder(), {.width = 40, .height = 60}).rgb,
            render(skin_of(grey(0.5)), cylinder(), {.width = 40, .height = 60}).rgb);
}

TEST(Round, SaysWhatItCannotDraw) {
  const Skin skin = skin_of(grey(0.5));
  EXPECT_THROW(render(skin, cylinder(), {.width = 0}), quantity::ValidityError);
  EXPECT_THROW(render(skin, cylinder(), {.width = 10000, .height = 10000}), quantity::ValidityError);
  EXPECT_THROW(render(skin, cylinder(), {.turn = std::nan("")}), quantity::ValidityError);
  EXPECT_THROW(render(skin, cylinder(), {.tilt = 2}), quantity::ValidityError);
}

class Page : public testing::Test {
 protected:
  std::filesystem::path folder =
      std::filesystem::temp_directory_path() / ("round_" + std::to_string(getpid()));
  Page() { std::filesystem::create_directories(folder); }
  ~Page() override { std::filesystem::remove_all(folder); }
  std::string written(const Turning& turning, const Skin* unwiped) {
    write_turning((folder / "part.html").string(), cylinder(), skin_of(grey(0.5)), unwiped, turning);
    std::ifstream file(folder / "part.html");
    std::stringstream text;
    text << file.rdbuf();
    return text.str();
  }
};

size_t times(const std::string& text, const std::string& what) {
  size_t count = 0;
  for (size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++count;
  return count;
}

TEST_F(Page, HoldsEveryFrameAndNeedsNothingElse) {
  const Skin unwiped = skin_of(grey(0.1));
  Turning turning{
      .frames = 6, .view = {.width = 48, .height = 64}, .title = "Bottle <1> & \"co\"", .lines = {"a < b"}};
  const std::string both = written(turning, &unwiped), one = written(turning, nullptr);
  EXPECT_EQ(times(both, "\"/9j/"), 12u);  // how a JPEG begins, in base 64
  EXPECT_EQ(times(one, "\"/9j/"), 6u);
  EXPECT_EQ(times(both, "http"), 0u);
  EXPECT_EQ(times(both, "Bottle &lt;1&gt; &amp; &quot;co&quot;"), 2u);
  EXPECT_EQ(times(both, "<p>a &lt; b</p>"), 1u);
  EXPECT_EQ(times(both, "id=\"wipe\""), 1u);
  EXPECT_EQ(times(one, "id=\"wipe\""), 0u);
  for (const char* part :
       {"lang=\"en\"", "prefers-reduced-motion", "prefers-color-scheme", "tabindex", "alt"})
    EXPECT_GE(times(both, part), 1u) << part;
}

TEST_F(Page, IsNotWrittenWhenStopped) {
  Turning turning{.frames = 12, .view = {.width = 48, .height = 64}};
  turning.progress = [](double share) { return share < 0.5; };
  EXPECT_THROW(written(turning, nullptr), quantity::Interrupted);
  EXPECT_TRUE(std::filesystem::is_empty(folder));
  turning.frames = 0;
  EXPECT_THROW(written(turning, nullptr), quantity::ValidityError);
  EXPECT_THROW(write_turning((folder / "no" / "part.html").string(), cylinder(), skin_of(grey(0.5)), nullptr),
               quantity::FileError);
}

}  // namespace
}  // namespace circumfluence::look

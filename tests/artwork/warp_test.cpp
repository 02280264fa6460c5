// Truth: a picture copied, halved and moved by hand; the area and the edge of shapes turned and warped by
// closed forms.
#include "artwork/warp.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <numeric>

#include "artwork/made_pictures.h"
#include "artwork/tone.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using quantity::FileError;
using quantity::ValidityError;
using testing::HasSubstr;
using testing::ThrowsMessage;

Image noise(int width, int height) {
  Image image{width, height, {}, {}};
  for (const int n : made::noise(size_t(width * height), 255)) image.tone.push_back(std::uint16_t(257 * n));
  return image;
}

// Black where inside() says so.
template <class Inside>
Image drawn(int width, int height, const Inside& inside) {
  Image image{width, height, {}, {}};
  for (int row = 0; row < height; ++row)
    for (int column = 0; column < width; ++column)
      image.tone.push_back(inside(column + 0.5, row + 0.5) ? 0 : 65535);
  return image;
}

double burnt(const Image& image) {  // [px]
  double sum = 0;
  for (const std::uint16_t t : image.tone) sum += 1 - t / 65535.0;
  return sum;
}

TEST(Warp, ACopyIsExact) {
  const Image image = noise(37, 23);
  const Image copy = warped(image, {37, 23}, [](PicturePoint p) { return p; });
  EXPECT_EQ(copy.tone, image.tone);
}

TEST(Warp, HalvedPixelsAreMeans) {
  const Image image = noise(40, 20);
  const Image half = warped(image, {20, 10}, [](PicturePoint p) {
    return PicturePoint{2 * p.column, 2 * p.row};
  });
  for (int row = 0; row < 10; ++row)
    for (int column = 0; column < 20; ++column) {
      double sum = 0;
      for (const int i : {0, 1, 40, 41}) sum += image.tone[size_t(80 * row + 2 * column + i)];
      EXPECT_NEAR(half.tone[size_t(20 * row + column)], sum / 4, 0.51);
    }
}

TEST(Warp, BeyondThePictureIsWhite) {
  const Image black{1, 1, {0}, {}};
  const Image out = warped(black, {4, 3}, [](PicturePoint p) {
    return PicturePoint{p.column - 1.5, p.row - 1};
  });
  EXPECT_EQ(out.tone, (std::vector<std::uint16_t>{65535, 65535, 65535, 65535, 65535, 32768, 32768, 65535,
                                                  65535, 65535, 65535, 65535}));
}

TEST(Warp, NowhereIsWhite) {
  const Image black{8, 8, std::vector<std::uint16_t>(64, 0), {}};
  const Image out = warped(black, {8, 8}, [](PicturePoint p) -> std::optional<PicturePoint> {
    if (p.column > 4) return std::nullopt;
    return p;
  });
  EXPECT_NEAR(burnt(out), 32, 1e-9);
}

// A square turned about its middle, at angles that a grid of samples finds hard and easy.
TEST(Warp, TurningKeepsArea) {
  const Image square =
      drawn(100, 100, [](double x, double y) { return std::abs(x - 50) < 20 && std::abs(y - 50) < 20; });
  for (const double angle : {0.0, 0.01, 0.3, 0.785, 1.2}) {
    const double c = std::cos(angle), s = std::sin(angle);
    const Image out = warped(square, {100, 100}, [&](PicturePoint p) {
      const double x = p.column - 50, y = p.row - 50;
      return PicturePoint{50 + c * x - s * y, 50 + s * x + c * y};
    });
    EXPECT_NEAR(burnt(out), 1600, 1e-3) << angle;  // tones are rounded to 1/65535
  }
}

// An edge moved by shares of a pixel: the covered share of its column follows exactly.
TEST(Warp, EdgesLieWhereTheyBelong) {
  const Image left = drawn(40, 10, [](double x, double) { return x < 20; });
  for (double shift = 0; shift < 1; shift += 0.037) {
    const Image out = warped(left, {40, 10}, [&](PicturePoint p) {
      return PicturePoint{p.column - shift, p.row};
    });
    EXPECT_NEAR(out.tone[20] / 65535.0, 1 - shift, 1e-5) << shift;
    EXPECT_EQ(out.tone[18], 0);
    EXPECT_EQ(out.tone[21], 65535);
  }
}

// A disc pulled into an ellipse by a mapping that is not linear in its middle.
TEST(Warp, ASmoothMappingKeepsTheAreaItSays) {
  const Image disc = drawn(200, 200, [](double x, double y) { return std::hypot(x - 100, y - 100) < 80; });
  const auto mapping = [](PicturePoint p) {  // columns are squared: u = c^2 / 200
    return PicturePoint{p.column * p.column / 200, p.row};
  };
  double expected = 0;
  for (int i = 0; i < 200; ++i) {  // where the mapped middle of a row of columns lies in the disc
    const double dy = i + 0.5 - 100;
    if (std::abs(dy) >= 80) continue;
    const double half = std::sqrt(80 * 80 - dy * dy);
    expected += std::sqrt(200 * (100 + half)) - std::sqrt(200 * (100 - half));
  }
  EXPECT_NEAR(burnt(warped(disc, {200, 200}, mapping)) / expected, 1, 1e-3);
}

// Two halves that part within a pixel, as at the step of a part.
TEST(Warp, AStepInTheMappingStaysSharp) {
  const Image stripes = drawn(20, 100, [](double, double y) { return int(y) / 10 % 2 == 0; });
  const auto mapping = [](PicturePoint p) {
    return PicturePoint{p.column, p.column < 10.5 ? p.row : p.row + 10};
  };
  const Image out = warped(stripes, {20, 80}, mapping);
  for (int row = 0; row < 80; ++row) {
    const std::uint16_t above = row / 10 % 2 == 0 ? 0 : 65535;
    EXPECT_EQ(out.tone[size_t(20 * row + 9)], above);
    EXPECT_EQ(out.tone[size_t(20 * row + 11)], 65535 - above);
    EXPECT_NEAR(out.tone[size_t(20 * row + 10)], 32768, 1);
  }
}

TEST(Warp, ThreadsChangeNothing) {
  const Image image = noise(300, 200);
  const Mapping turn = [](PicturePoint p) {
    return PicturePoint{0.8 * p.column + 0.6 * p.row, 0.8 * p.row - 0.6 * p.column};
  };
  EXPECT_EQ(warped(image, {300, 200}, turn, 1).tone, warped(image, {300, 200}, turn, 4).tone);
}

TEST(Warp, RefusesWhatIsNoPicture) {
  const Mapping same = [](PicturePoint p) { return p; };
  EXPECT_THROW(warped(noise(2, 2), {0, 5}, same), ValidityError);
  EXPECT_THROW(warped(noise(2, 2), {70'000, 5}, same), ValidityError);
  EXPECT_THROW(warped({1, 1, {0}, {9}}, {1, 1}, same), ValidityError);
}

// The art's own machinery laid over whole pixels: turned, mirrored, light or dark, transparent.
TEST(Upright, IsWhatTheArtWants) {
  Image image = noise(6, 4);
  for (const int n : made::noise(24, 65535, 2)) image.opacity.push_back(std::uint16_t(n));
  for (const double turn : {0.0, 1.5707963267948966, 3.141592653589793})
    for (const Burns burns : {Burns::dark, Burns::light})
      for (const Mirror mirror : {Mirror::none, Mirror::axial, Mirror::around}) {
        const Placement p{.size_axial = 12e-3, .axial = 5e-3, .turn = turn, .mirror = mirror, .burns = burns};
        const Image out = upright(image, p, 1e-6);
        const Extent e = extent(p, image);
        const double pixel = (e.axial_to - e.axial_from) / out.width;
        ASSERT_EQ(out.width * out.height, 24);
        const std::vector<double> edges = {e.axial_from + pixel, e.axial_from + 2 * pixel};
        std::vector<float> share(1);
        Tone::Scratch scratch;
        Tone(image, p, Along::axial, edges).row(e.around_to - pixel, e.around_to, share, scratch);
        EXPECT_NEAR(out.tone[1], 65535 * (1 - share[0]), 1);
      }
}

TEST(Upright, FinerPixelsThanOfUseAreAveraged) {
  const Image image = noise(100, 100);
  const Image out = upright(image, {.size_axial = 10e-3, .axial = 5e-3}, 0.5e-3);
  EXPECT_EQ(out.width, 20);
  EXPECT_EQ(out.height, 20);
  EXPECT_NEAR(burnt(out) * 25, burnt(image), 0.02);
}

TEST(TurnedOver, LeftForRightAndTopForBottom) {
  const Image image{3, 2, {1, 2, 3, 4, 5, 6}, {}};
  EXPECT_THAT(turned_over(image, true, false).tone, testing::ElementsAre(3, 2, 1, 6, 5, 4));
  EXPECT_THAT(turned_over(image, false, true).tone, testing::ElementsAre(4, 5, 6, 1, 2, 3));
  EXPECT_THAT(turned_over(image, true, true).tone, testing::ElementsAre(6, 5, 4, 3, 2, 1));
  EXPECT_THAT(inverted(image).tone, testing::ElementsAre(65534, 65533, 65532, 65531, 65530, 65529));
}

struct Written : testing::Test {
  std::string path =
      (std::filesystem::temp_directory_path() / ("warp_" + std::to_string(getpid()) + ".png")).string();
  ~Written() override { std::filesystem::remove(path); }
};

TEST_F(Written, ComesBackAsItWas) {
  const Image image = noise(41, 17);
  write_image(image, 50e-6, path);
  const Image back = read_image(path);
  EXPECT_EQ(back.width, 41);
  EXPECT_EQ(back.tone, image.tone);
  EXPECT_TRUE(back.opacity.empty());
}

TEST_F(Written, SaysHowLargeAPixelIs) {
  write_image(noise(3, 3), 50e-6, path);
  std::ifstream in(path, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(in)), {});
  const size_t at = bytes.find("pHYs");
  ASSERT_NE(at, std::string::npos);
  const auto number = [&](size_t from) {
    unsigned n = 0;
    for (size_t i = 0; i < 4; ++i) n = n << 8 | static_cast<unsigned char>(bytes[from + i]);
    return n;
  };
  EXPECT_EQ(number(at + 4), 20'000u);
  EXPECT_EQ(number(at + 8), 20'000u);
  EXPECT_EQ(bytes[at + 12], 1);  // a metre
}

TEST_F(Written, Refusals) {
  EXPECT_THROW(write_image({}, 50e-6, path), ValidityError);
  EXPECT_THROW(write_image(noise(2, 2), 0, path), ValidityError);
  EXPECT_THROW(write_image({1, 1, {0}, {9}}, 50e-6, path), ValidityError);
  EXPECT_THAT([&] { write_image(noise(2, 2), 50e-6, "/nowhere/at/all.png"); },
              ThrowsMessage<FileError>(HasSubstr("/nowhere/at/all.png")));
}

}  // namespace
}  // namespace circumfluence::artwork

// Truth: means and orders by counting; published matrices and shares written down here anew; spectra by a
// plain Fourier sum over the tile, against white noise of a known generator.
#include "artwork/halftone.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <complex>
#include <numbers>
#include <random>

#include "artwork/tone.h"
#include "quantity/error.h"

namespace circumfluence::artwork {
namespace {

using quantity::JobError;
using quantity::ValidityError;
using testing::HasSubstr;
using testing::ThrowsMessage;

constexpr Screen kScreens[] = {Screen::bayer, Screen::floyd_steinberg, Screen::jarvis_judice_ninke,
                               Screen::stucki, Screen::blue_noise};
constexpr Screen kMatrices[] = {Screen::bayer, Screen::blue_noise};
constexpr Screen kDiffusions[] = {Screen::floyd_steinberg, Screen::jarvis_judice_ninke, Screen::stucki};

Image flat(int width, int height, double share) {
  const auto tone = static_cast<std::uint16_t>(std::lround(65535 * (1 - share)));
  return {width, height, std::vector<std::uint16_t>(size_t(width) * size_t(height), tone), {}};
}

double asked_mean(const Image& image) {
  double sum = 0;
  for (const std::uint16_t tone : image.tone) sum += 1 - tone / 65535.0;
  return sum / double(image.tone.size());
}

// 256 greys, with a hollow and noise, none of it exactly none or all.
Image photograph(int width, int height) {
  Image out{width, height, {}, {}};
  std::mt19937 random(3);
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x) {
      const double share = 0.5 + 0.35 * std::sin(x * 0.05) * std::cos(y * 0.031) +
                           0.1 * (double(random() % 1000) / 1000 - 0.5);
      out.tone.push_back(std::uint16_t(257 * std::lround(255 * (1 - share))));
    }
  return out;
}

bool only_black_and_white(const Image& image) {
  return std::ranges::all_of(image.tone, [](std::uint16_t tone) { return tone == 0 || tone == 65535; });
}

TEST(Halftone, RanksAreAllThereOnce) {
  for (const Screen screen : kMatrices) {
    const auto found = ranks(screen);
    const size_t side = screen == Screen::bayer ? kBayerSide : kBlueNoiseSide;
    ASSERT_EQ(found.size(), side * side);
    std::vector<int> seen(found.size(), 0);
    for (const std::uint16_t rank : found) ++seen.at(rank);
    EXPECT_THAT(seen, testing::Each(1));
  }
  for (const Screen screen : kDiffusions) EXPECT_TRUE(ranks(screen).empty());
}

// As published for 2 x 2: 0 2 / 3 1, and each doubling M -> 4 M + that.
TEST(Halftone, BayersMatrixIsTheRecursiveOne) {
  const int two[2][2] = {{0, 2}, {3, 1}};
  const auto found = ranks(Screen::bayer);
  for (int y = 0; y < 8; ++y)
    for (int x = 0; x < 8; ++x) {
      const int four = 4 * two[y % 2][x % 2] + two[y / 2 % 2][x / 2 % 2];
      EXPECT_EQ(found[size_t(8 * y + x)], 4 * four + two[y / 4][x / 4]) << x << ' ' << y;
    }
}

TEST(Halftone, WholeTilesHoldTheShareToHalfAPlace) {
  for (const Screen screen : kMatrices) {
    const double places = double(ranks(screen).size());
    for (int i = 0; i <= 256; ++i) {
      const Image asked = flat(192, 128, i / 256.0);
      EXPECT_NEAR(asked_mean(halftone(asked, screen)), asked_mean(asked), 0.5 / places + 1e-9);
    }
  }
}

// Edge loss of a plain program was 0.0019 at most.
TEST(Halftone, ErrorDiffusionKeepsTheMean) {
  for (const Screen screen : kDiffusions) {
    double worst = 0;
    for (int i = 0; i <= 128; ++i) {
      const Image asked = flat(256, 256, i / 128.0);
      worst = std::max(worst, std::abs(asked_mean(halftone(asked, screen)) - asked_mean(asked)));
    }
    EXPECT_LT(worst, 0.002) << int(screen);
    const Image picture = photograph(301, 257);
    EXPECT_NEAR(asked_mean(halftone(picture, screen)), asked_mean(picture), 0.002) << int(screen);
  }
}

TEST(Halftone, APictureKeepsItsMeanInEveryQuarter) {
  const Image asked = photograph(256, 256);
  for (const Screen screen : kScreens) {
    const Image out = halftone(asked, screen);
    ASSERT_TRUE(only_black_and_white(out));
    for (int part = 0; part < 16; ++part) {
      double difference = 0;
      for (int y = part / 4 * 64; y < part / 4 * 64 + 64; ++y)
        for (int x = part % 4 * 64; x < part % 4 * 64 + 64; ++x)
          difference += (double(out.tone[size_t(y * 256 + x)]) - asked.tone[size_t(y * 256 + x)]) / 65535;
      EXPECT_NEAR(difference / 4096, 0, 0.012) << int(screen) << ' ' << part;
    }
  }
}

// Where none and all stand beside greys that hand on errors.
TEST(Halftone, NoneAndAllStayThemselves) {
  Image asked = photograph(120, 90);
  for (size_t i = 0; i < asked.tone.size(); ++i)
    if (i % 7 < 2) asked.tone[i] = i % 7 == 0 ? 0 : 65535;
  for (const Screen screen : kScreens) {
    const Image out = halftone(asked, screen);
    for (size_t i = 0; i < asked.tone.size(); ++i) {
      if (i % 7 > 1) continue;
      ASSERT_EQ(out.tone[i], asked.tone[i]) << int(screen) << ' ' << i;
    }
    EXPECT_EQ(halftone(flat(33, 7, 0), screen).tone, flat(33, 7, 0).tone);
    EXPECT_EQ(halftone(flat(33, 7, 1), screen).tone, flat(33, 7, 1).tone);
  }
}

// Weights and their sums written down a second time, errors pushed to each neighbour in doubles.
Image pushed(const Image& asked, Screen screen) {
  struct Push {
    int ahead, down;
    double weight;
  };
  std::vector<Push> push;
  if (screen == Screen::floyd_steinberg)
    push = {{1, 0, 7 / 16.0}, {-1, 1, 3 / 16.0}, {0, 1, 5 / 16.0}, {1, 1, 1 / 16.0}};
  const bool jarvis = screen == Screen::jarvis_judice_ninke;
  const double rows[3][3] = {{0, jarvis ? 7.0 : 8.0, jarvis ? 5.0 : 4.0},  // straight below, one, two aside
                             {jarvis ? 7.0 : 8.0, jarvis ? 5.0 : 4.0, jarvis ? 3.0 : 2.0},
                             {jarvis ? 5.0 : 4.0, jarvis ? 3.0 : 2.0, 1.0}};
  if (push.empty())
    for (int down = 0; down < 3; ++down)
      for (int ahead = down == 0 ? 1 : -2; ahead <= 2; ++ahead)
        push.push_back({ahead, down, rows[down][std::abs(ahead)] / (jarvis ? 48 : 42)});
  Image out = asked;
  std::vector<double> got(asked.tone.size(), 0.0);
  for (int y = 0; y < asked.height; ++y)
    for (int i = 0; i < asked.width; ++i) {
      const int way = y % 2 == 0 ? 1 : -1, x = way > 0 ? i : asked.width - 1 - i;
      const size_t at = size_t(y * asked.width + x);
      const double share = 1 - asked.tone[at] / 65535.0 + got[at];
      out.tone[at] = share > 0.5 ? 0 : 65535;
      const double error = share - (share > 0.5);
      for (const Push& p : push) {
        int to = x + way * p.ahead, row = y + p.down;
        if (p.down == 0 && (to < 0 || to >= asked.width)) {  // round the turn
          const int over = to < 0 ? -to - 1 : to - asked.width;
          to = way > 0 ? asked.width - 1 - over : over;
          ++row;
        }
        to = std::clamp(to, 0, asked.width - 1);
        if (row < asked.height) got[size_t(row * asked.width + to)] += error * p.weight;
      }
    }
  return out;
}

TEST(Halftone, ErrorsGoWhereTheyArePublishedToGo) {
  const Image asked = photograph(97, 61);
  for (const Screen screen : kDiffusions)
    EXPECT_EQ(halftone(asked, screen).tone, pushed(asked, screen).tone) << int(screen);
}

// A tone and the rest of it change black for white, but for the one place whose threshold is met exactly.
TEST(Halftone, MatricesTreatBlackAndWhiteAlike) {
  for (const Screen screen : kMatrices) {
    const auto rank = ranks(screen);
    const int side = screen == Screen::bayer ? 8 : 64;
    for (const int burnt : {1, int(rank.size()) / 8, int(rank.size()) / 3}) {
      const Image some = halftone(flat(side, side, double(burnt) / double(rank.size())), screen);
      const Image most = halftone(flat(side, side, 1 - double(burnt) / double(rank.size())), screen);
      EXPECT_EQ(std::ranges::count(some.tone, 0), burnt);
      EXPECT_EQ(std::ranges::count(most.tone, 65535), burnt);
    }
  }
}

// Power of a tile at whole cycles a tile, but for its mean.
std::vector<double> power(const std::vector<double>& tile, int side) {
  using Complex = std::complex<double>;
  const auto turned = [&](int k, int x) {
    return std::polar(1.0, -2 * std::numbers::pi * (k * x % side) / side);
  };
  std::vector<Complex> wave(tile.begin(), tile.end());
  for (const bool columns : {false, true}) {
    std::vector<Complex> next(tile.size());
    for (int a = 0; a < side; ++a)
      for (int k = 0; k < side; ++k)
        for (int x = 0; x < side; ++x)
          next[size_t(columns ? k * side + a : a * side + k)] +=
              wave[size_t(columns ? x * side + a : a * side + x)] * turned(k, x);
    wave = std::move(next);
  }
  std::vector<double> out;
  for (const Complex& c : wave) out.push_back(std::norm(c));
  out[0] = 0;
  return out;
}

struct Spectrum {
  double
      low;  // [1] mean power below half the principal frequency over that of all frequencies; white noise: 1
  double uneven;  // [1] variance over squared mean of the power along rings, averaged; white noise: 1
};

// The principal frequency of a share g is the root of g, or of 1 - g, cycles a dot, as far as the grid can
// hold it along its axes, one half (Ulichney 1988, Proc. IEEE 76(1), 56-79, from memory).
Spectrum spectrum(const std::vector<std::uint16_t>& dots, double share) {
  constexpr int kSide = 64;
  std::vector<double> tile;
  for (const std::uint16_t tone : dots) tile.push_back(tone == 0 ? 1 : 0);
  const std::vector<double> found = power(tile, kSide);
  const double principal = std::min(0.5, std::sqrt(std::min(share, 1 - share))) * kSide;
  double low = 0, all = 0, lows = 0, alls = -1, uneven = 0;
  std::array<double, 32> sum{}, square{}, count{};
  for (int y = 0; y < kSide; ++y)
    for (int x = 0; x < kSide; ++x) {
      const double p = found[size_t(y * kSide + x)];
      const double r = std::hypot(x < 32 ? x : x - kSide, y < 32 ? y : y - kSide);
      all += p, ++alls;
      if (r < principal / 2 && r > 0) low += p, ++lows;
      if (const auto ring = size_t(r); ring < 32) sum[ring] += p, square[ring] += p * p, ++count[ring];
    }
  int rings = 0;
  for (size_t ring = 8; ring < 32; ++ring, ++rings)
    uneven += sum[ring] > 0 ? square[ring] * count[ring] / (sum[ring] * sum[ring]) - 1 : 0;
  return {low / lows / (all / alls), uneven / rings};
}

std::vector<std::uint16_t> white_noise(double share) {
  std::mt19937 random(17);
  std::vector<std::uint16_t> out;
  for (int i = 0; i < 4096; ++i) out.push_back(double(random() % 4096) < 4096 * share ? 0 : 65535);
  return out;
}

TEST(Halftone, BlueNoiseHasLittlePowerAtLowFrequencies) {
  for (const double share : {1 / 8.0, 1 / 5.0, 1 / 4.0, 1 / 3.0, 3 / 8.0, 1 / 2.0, 3 / 4.0, 7 / 8.0}) {
    const Spectrum blue = spectrum(halftone(flat(64, 64, share), Screen::blue_noise).tone, share);
    const Spectrum white = spectrum(white_noise(share), share);
    EXPECT_LT(blue.low, 0.12) << share;  // 0.06 to 0.10
    EXPECT_NEAR(white.low, 1, 0.2) << share;
    EXPECT_LT(blue.uneven, 1.25) << share;  // 0.9 to 1.1: as even as noise can be, without direction or grid
    EXPECT_GT(spectrum(halftone(flat(64, 64, share), Screen::bayer).tone, share).uneven, 10) << share;
  }
}

TEST(Halftone, SameEachTime) {
  EXPECT_EQ(void_and_cluster(), void_and_cluster());
  const auto found = ranks(Screen::blue_noise);
  EXPECT_EQ(std::vector<std::uint16_t>(found.begin(), found.end()), void_and_cluster());
  const Image asked = photograph(1500, 900);  // on several threads
  for (const Screen screen : kScreens) EXPECT_EQ(halftone(asked, screen).tone, halftone(asked, screen).tone);
}

TEST(Halftone, PicturesOfOneDotOrLine) {
  for (const Screen screen : kScreens)
    for (const auto& [width, height] : {std::pair{1, 1}, {1, 40}, {40, 1}, {2, 3}, {3, 2}, {65, 5}}) {
      const Image out = halftone(flat(width, height, 0.4), screen);
      EXPECT_EQ(out.width, width);
      EXPECT_TRUE(only_black_and_white(out));
      EXPECT_NEAR(asked_mean(out), 0.4, width * height < 40 ? 0.6 : 0.16) << int(screen);
    }
}

TEST(Halftone, Refusals) {
  EXPECT_THAT([] { halftone({}, Screen::stucki); }, ThrowsMessage<ValidityError>(HasSubstr("0 x 0")));
  Image clear = flat(2, 2, 0.5);
  clear.opacity.assign(4, 0);
  EXPECT_THAT([&] { halftone(clear, Screen::bayer); },
              ThrowsMessage<ValidityError>(HasSubstr("partly transparent")));
}

const Placement kPlace{
    .size_axial = 8e-3, .size_around = 6e-3, .axial = 20e-3, .around = 3e-3, .tone = ToneUse::halftone};

TEST(Screened, WholeDotsAboutTheSameCentre) {
  const Screened out = screened(photograph(80, 60), kPlace, 0.15e-3);  // 53.3 x 40 of them
  EXPECT_EQ(out.image.width, 53);
  EXPECT_EQ(out.image.height, 40);
  EXPECT_TRUE(only_black_and_white(out.image));
  const Extent place = extent(out.placement, out.image);
  EXPECT_NEAR((place.axial_from + place.axial_to) / 2, 20e-3, 1e-15);
  EXPECT_NEAR((place.around_from + place.around_to) / 2, 3e-3, 1e-15);
  EXPECT_NEAR(place.axial_to - place.axial_from, 53 * 0.15e-3, 1e-15);
  EXPECT_NEAR(place.around_to - place.around_from, 6e-3, 1e-15);
  EXPECT_EQ(out.placement.tone, ToneUse::threshold);
  EXPECT_EQ(out.placement.threshold, 0.5);
  EXPECT_EQ(out.placement.dot, 0.15e-3);
}

TEST(Screened, TheMeanOverTheArtIsKept) {
  const Image art = photograph(160, 120);
  for (const Screen screen : kScreens)
    for (const double dot :
         {20e-6, 50e-6, 130e-6}) {  // finer than a pixel, as fine, coarser and across edges
      Placement place = kPlace;
      place.screen = screen;
      const double height = 6e-3 / dot;
      EXPECT_NEAR(asked_mean(screened(art, place, dot).image), asked_mean(art),
                  screen == Screen::bayer ? 0.01 : 0.003 + 0.5 / height)
          << int(screen) << ' ' << dot;
    }
}

// What is wanted at a place of the part must be as before, whatever way the picture lies.
TEST(Screened, LiesAsTheArtDid) {
  Image art = flat(40, 30, 0);  // an L with a foot
  for (int y = 0; y < 30; ++y)
    for (int x = 0; x < 40; ++x)
      if (x < 10 || (y > 22 && x < 30)) art.tone[size_t(y * 40 + x)] = 0;
  std::vector<double> edges;
  for (int i = 0; i <= 40; ++i) edges.push_back(15e-3 + 0.25e-3 * i);
  const auto wanted = [&](const Image& image, const Placement& placement) {
    const Tone tone(image, placement, Along::axial, edges);
    Tone::Scratch scratch;
    std::vector<float> row(40), out;
    for (int i = 0; i < 40; ++i) {
      tone.row(-2e-3 + 0.25e-3 * i, -2e-3 + 0.25e-3 * (i + 1), row, scratch);
      for (const float share : row) out.push_back(std::round(share * 1000) / 1000);
    }
    return out;
  };
  for (const Burns burns : {Burns::dark, Burns::light})
    for (const Mirror mirror : {Mirror::none, Mirror::axial, Mirror::around, Mirror::both})
      for (int quarter = 0; quarter < 4; ++quarter) {
        Placement place = kPlace;
        place.burns = burns;
        place.mirror = mirror;
        place.turn = quarter * std::numbers::pi / 2;
        if (quarter % 2 == 1) std::swap(place.size_axial, place.size_around);
        place.screen = Screen::stucki;
        const Screened out = screened(art, place, 50e-6);  // 4 x 4 dots a pixel, all of a tone
        EXPECT_EQ(wanted(out.image, out.placement), wanted(art, place))
            << int(burns) << int(mirror) << quarter;
      }
}

TEST(Screened, WhereItIsTransparentNothingIsBurnt) {
  Image art = flat(4, 3, 1);
  art.opacity.assign(12, 0);
  art.opacity[5] = 65535;
  const Screened out = screened(art, kPlace, 0.5e-3);
  EXPECT_TRUE(out.image.opacity.empty());
  EXPECT_NEAR(asked_mean(out.image), 1 / 12.0, 1e-4);
}

TEST(Screened, Refusals) {
  const Image art = flat(8, 6, 0.5);
  EXPECT_THAT([&] { screened(art, kPlace, 0); }, ThrowsMessage<JobError>(HasSubstr("artwork.dot = 0")));
  EXPECT_THAT([&] { screened(art, kPlace, std::nan("")); },
              ThrowsMessage<JobError>(HasSubstr("artwork.dot")));
  EXPECT_THAT([&] { screened(art, kPlace, 7e-3); },
              ThrowsMessage<JobError>(HasSubstr("larger than the art")));
  EXPECT_THAT([&] { screened(art, kPlace, 0.5e-6); }, ThrowsMessage<JobError>(HasSubstr("Use larger dots")));
  EXPECT_NO_THROW(screened(art, kPlace, 6e-3));
}

}  // namespace
}  // namespace circumfluence::artwork

// Truth: codes drawn by a writer, whose size, modules, and text are known; ISO/IEC 18004 and 16022 say how
// many spoilt codewords a reader corrects, which says where each codeword lies.
#include <gtest/gtest.h>

#define ZX_USE_UTF8 1
#include <ZXing/BitMatrix.h>
#include <ZXing/MultiFormatWriter.h>

#include <cmath>
#include <random>

#include "look/code.h"
#include "look/other_reader.h"

namespace circumfluence::look {
namespace {

struct Drawing {
  ZXing::BitMatrix bits;
  std::string text;
  bool matrix;
};

Drawing make(bool matrix, int length) {
  std::string text;
  for (int i = 0; i < length; ++i) text += char('a' + (i * 7 + i / 5) % 26);
  ZXing::MultiFormatWriter writer(matrix ? ZXing::BarcodeFormat::DataMatrix : ZXing::BarcodeFormat::QRCode);
  writer.setMargin(0).setEncoding(ZXing::CharacterSet::ISO8859_1);
  return {writer.encode(text, 0, 0), text, matrix};
}

struct Way {
  int pixels = 4, quiet = 4, turns = 0;
  bool mirrored = false, inverted = false;
};

artwork::Image turned(const artwork::Image& from) {  // a quarter, clockwise
  artwork::Image out{from.height, from.width, std::vector<std::uint16_t>(from.tone.size()), {}};
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x)
      out.tone[size_t(y) * size_t(out.width) + size_t(x)] =
          from.tone[size_t(from.height - 1 - x) * size_t(from.width) + size_t(y)];
  return out;
}

artwork::Image art_of(const ZXing::BitMatrix& bits, const Way& way) {
  const int side = way.pixels, q = way.quiet;
  artwork::Image out{(bits.width() + 2 * q) * side, (bits.height() + 2 * q) * side, {}, {}};
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x) {
      const int column = (way.mirrored ? out.width - 1 - x : x) / side - q, row = y / side - q;
      const bool in = column >= 0 && row >= 0 && column < bits.width() && row < bits.height();
      out.tone.push_back((in && bits.get(column, row)) != way.inverted ? 0 : 65535);
    }
  for (int i = 0; i < way.turns; ++i) out = turned(out);
  return out;
}

void expect_found(const Drawing& drawing, const Way& way) {
  const artwork::Image art = art_of(drawing.bits, way);
  const std::vector<Symbol> found = find_symbols(art);
  SCOPED_TRACE(testing::Message() << drawing.bits.width() << " x " << drawing.bits.height() << ", "
                                  << way.pixels << " px, turn " << way.turns << ", mirrored " << way.mirrored
                                  << ", inverted " << way.inverted);
  ASSERT_EQ(found.size(), 1u);
  const Symbol& symbol = found[0];
  EXPECT_EQ(symbol.kind, drawing.matrix ? Symbology::data_matrix : Symbology::qr);
  EXPECT_EQ(symbol.text, drawing.text);
  EXPECT_EQ(symbol.inverted, way.inverted);
  EXPECT_EQ(symbol.mirrored, way.mirrored);
  ASSERT_EQ(symbol.columns, drawing.bits.width());
  ASSERT_EQ(symbol.rows, drawing.bits.height());
  int wrong = 0;
  for (int row = 0; row < symbol.rows; ++row)
    for (int column = 0; column < symbol.columns; ++column)
      wrong += symbol.black(size_t(row) * size_t(symbol.columns) + size_t(column)) !=
               drawing.bits.get(column, row);
  EXPECT_EQ(wrong, 0);
  const double least = way.quiet * way.pixels;
  for (const artwork::PicturePoint& p : symbol.corners) {
    EXPECT_LT(std::min(std::abs(p.column - least), std::abs(art.width - least - p.column)), 0.5 * way.pixels);
    EXPECT_LT(std::min(std::abs(p.row - least), std::abs(art.height - least - p.row)), 0.5 * way.pixels);
  }
}

TEST(Codes, AllSizesOfQrCodesAreFoundWithTheirGrid) {
  for (const int length : {5, 30, 50, 70, 100, 120, 150, 180, 220, 260})
    expect_found(make(false, length), {.pixels = 2});
}

TEST(Codes, AllSizesOfDataMatricesAreFoundWithTheirGrid) {
  for (const int length : {2, 5, 9, 14, 20, 28, 36, 50, 60, 90, 140, 200})
    expect_found(make(true, length), {.pixels = 2});
}

TEST(Codes, AnyWayRound) {
  for (const bool matrix : {false, true})
    for (const int length : {20})
      for (const bool mirrored : {false, true})
        for (int turns = 0; turns < 4; ++turns)
          expect_found(make(matrix, length), {.turns = turns, .mirrored = mirrored});
}

TEST(Codes, AnyScaleAndBothSenses) {
  for (const bool matrix : {false, true})
    for (const bool inverted : {false, true})
      for (const int pixels : {1, 2, 3, 9})
        expect_found(make(matrix, 20), {.pixels = pixels, .inverted = inverted});
}

TEST(Codes, WithoutAQuietZone) {
  expect_found(make(false, 20), {.quiet = 0});
  expect_found(make(true, 20), {.quiet = 0});
  expect_found(make(false, 20), {.quiet = 0, .inverted = true});
}

TEST(Codes, RotatedByAnAngle) {
  const Drawing drawing = make(false, 40);
  const artwork::Image art = art_of(drawing.bits, {.pixels = 8});
  for (const double angle : {0.2, 0.7}) {
    const double c = std::cos(angle), s = std::sin(angle), half = art.width / 2.0;
    const artwork::Image slanted = artwork::warped(
        art, {art.width * 3 / 2, art.height * 3 / 2},
        [=](artwork::PicturePoint p) {
          const double x = p.column - 1.5 * half, y = p.row - 1.5 * half;
          return std::optional<artwork::PicturePoint>({half + c * x + s * y, half - s * x + c * y});
        },
        1);
    const std::vector<Symbol> found = find_symbols(slanted);
    ASSERT_EQ(found.size(), 1u);
    ASSERT_EQ(found[0].columns, drawing.bits.width());
    for (size_t i = 0; i < found[0].dark.size(); ++i)
      ASSERT_EQ(found[0].black(i), drawing.bits.get(int(i) % found[0].columns, int(i) / found[0].columns));
  }
}

TEST(Codes, TwoInOnePicture) {
  const artwork::Image one = art_of(make(false, 20).bits, {}), other = art_of(make(true, 30).bits, {});
  artwork::Image both{one.width + other.width, std::max(one.height, other.height), {}, {}};
  for (int y = 0; y < both.height; ++y)
    for (int x = 0; x < both.width; ++x) {
      const artwork::Image& from = x < one.width ? one : other;
      const int column = x < one.width ? x : x - one.width;
      both.tone.push_back(y < from.height ? from.tone[size_t(y) * size_t(from.width) + size_t(column)]
                                          : 65535);
    }
  EXPECT_EQ(find_symbols(both).size(), 2u);
}

// Read at half the size, where a module is 1.5 px; its grid is that of the art.
TEST(Codes, SmallInALargePicture) {
  const artwork::Image small = art_of(make(false, 20).bits, {.pixels = 3});
  artwork::Image large{2400, 1800, std::vector<std::uint16_t>(2400 * 1800, 65535), {}};
  for (int y = 0; y < small.height; ++y)
    for (int x = 0; x < small.width; ++x)
      large.tone[size_t(y + 701) * 2400 + size_t(x + 1200)] =
          small.tone[size_t(y) * size_t(small.width) + size_t(x)];
  const std::vector<Symbol> near = find_symbols(small), far = find_symbols(large);
  ASSERT_EQ(near.size(), 1u);
  ASSERT_EQ(far.size(), 1u);
  EXPECT_EQ(far[0].columns, near[0].columns);
  EXPECT_EQ(far[0].dark, near[0].dark);
  for (size_t i = 0; i < 4; ++i) {
    EXPECT_NEAR(far[0].corners[i].column - near[0].corners[i].column, 1200, 1.01);
    EXPECT_NEAR(far[0].corners[i].row - near[0].corners[i].row, 701, 1.01);
  }
}

TEST(Codes, NothingIsReadWhereThereIsNone) {
  EXPECT_TRUE(find_symbols({}).empty());
  EXPECT_TRUE(find_symbols({3, 2, {1}, {}}).empty());
  EXPECT_TRUE(find_symbols({1, 1, {0}, {}}).empty());
  EXPECT_TRUE(find_symbols({5000, 1, std::vector<std::uint16_t>(5000, 7), {}}).empty());
  EXPECT_TRUE(read_symbols({}).empty());
  EXPECT_TRUE(read_symbols({4, 4, std::vector<appearance::Colour>(16)}).empty());
  std::mt19937 random(7);
  artwork::Image noise{150, 100, {}, {}};
  for (int i = 0; i < 150 * 100; ++i) noise.tone.push_back(std::uint16_t(random()));
  EXPECT_TRUE(find_symbols(noise).empty());
  EXPECT_FALSE(looks_like_symbol(noise));
}

// A camera stretches what light there is; so does the other reader.
TEST(Codes, PaleOnesAreReadAndPalerOnesAreNot) {
  const Drawing drawing = make(false, 20);
  const artwork::Image art = art_of(drawing.bits, {.pixels = 8});
  for (const bool inverted : {false, true})
    for (const int pale : {4, 16, 40}) {
      appearance::Pixels picture{art.width, art.height, {}};
      for (const std::uint16_t tone : art.tone) {
        const auto level = std::uint8_t((tone > 0) == inverted ? 230 - pale : 230);
        picture.rgb.push_back({level, level, level});
      }
      EXPECT_EQ(read_symbols(picture).size(), pale > 4 ? 1u : 0u) << pale << inverted;
      EXPECT_TRUE(reads_otherwise(picture, drawing.text));
    }
}

// A whole codeword spoilt costs one correction, wherever its modules lie.
void spoil(artwork::Image& art, const Symbol& symbol, const Codewords& words, int codeword, int pixels) {
  for (size_t i = 0; i < words.of.size(); ++i) {
    if (words.of[i] != codeword) continue;
    const int x = int(i) % symbol.columns * pixels, y = int(i) / symbol.columns * pixels;
    for (int row = y; row < y + pixels; ++row)
      for (int column = x; column < x + pixels; ++column) {
        std::uint16_t& tone = art.tone[size_t(row) * size_t(art.width) + size_t(column)];
        tone = std::uint16_t(65535 - tone);
      }
  }
}

int corrected(const Drawing& drawing) {
  const artwork::Image art = art_of(drawing.bits, {.quiet = 0});
  const Symbol symbol = find_symbols(art).at(0);
  const Codewords words = codewords(symbol);
  artwork::Image spoilt = art;
  int count = 0;
  for (; count < words.count; ++count) {
    spoil(spoilt, symbol, words, count * 17 % words.count, 4);
    const std::vector<Symbol> found = find_symbols(spoilt);
    if (found.empty() || found[0].text != drawing.text) break;
  }
  return count;
}

TEST(Codes, AsManySpoiltCodewordsAreCorrectedAsTheStandardsSay) {
  EXPECT_EQ(corrected(make(false, 10)), 3);  // version 1, level L: 26 codewords, 7 for correction
  EXPECT_EQ(corrected(make(false, 30)), 5);  // version 2: 44, 10 for correction
  EXPECT_EQ(corrected(make(true, 9)), 5);    // 14 x 14: 10 for correction
  EXPECT_EQ(corrected(make(true, 20)), 7);   // 26 x 12: 14
  EXPECT_EQ(corrected(make(true, 60)), 14);  // 26 x 26: 28
  EXPECT_EQ(corrected(make(true, 85)), 18);  // 32 x 32, four regions: 36
}

TEST(Codes, CodewordsFillTheirCodes) {
  for (int version = 1; version <= 40; version += 3) {
    const Symbol symbol = qr_code(version);
    EXPECT_EQ(symbol.columns, 17 + 4 * version);
    const Codewords words = codewords(symbol);
    std::vector<int> modules(size_t(words.count));
    for (const int of : words.of)
      if (of >= 0) ++modules[size_t(of)];
    for (const int count : modules) ASSERT_EQ(count, 8);
    EXPECT_EQ(words.correctable, int(0.15 * words.count));
  }
  EXPECT_EQ(codewords(qr_code(1)).count, 26);
  EXPECT_EQ(codewords(qr_code(7)).count, 196);
  EXPECT_EQ(codewords(qr_code(40)).count, 3706);
}

TEST(Codes, MeantButNotReadable) {
  const Drawing drawing = make(false, 40);
  artwork::Image art = art_of(drawing.bits, {.pixels = 5});
  EXPECT_TRUE(looks_like_symbol(art));
  const int side = drawing.bits.width();
  for (int row = 9; row < side; ++row)  // all data gone, the corner patterns stand
    for (int column = 9; column < side; ++column)
      if (row < side - 8 && column < side)
        for (int i = 0; i < 25; ++i)
          art.tone[size_t((row + 4) * 5 + i / 5) * size_t(art.width) + size_t((column + 4) * 5 + i % 5)] =
              65535;
  EXPECT_TRUE(find_symbols(art).empty());
  EXPECT_TRUE(looks_like_symbol(art));
  EXPECT_TRUE(looks_like_symbol(artwork::inverted(art)));
  artwork::Image rings{200, 200, std::vector<std::uint16_t>(40000, 65535), {}};
  EXPECT_FALSE(looks_like_symbol(rings));
}

}  // namespace
}  // namespace circumfluence::look

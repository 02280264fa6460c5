// Truth: the coupon's own geometry, looked for in the pixels of the files written, read back.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <png.h>
#include <unistd.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <memory>

#include "artwork/image.h"
#include "calibration/coupon_drawing.h"
#include "calibration/small_coupon.h"
#include "quantity/error.h"

namespace circumfluence::calibration {
namespace {

using artwork::Image;
using quantity::ValidityError;

class CouponDrawing : public testing::Test {
 protected:
  CouponDrawing() { std::filesystem::create_directories(folder_); }
  ~CouponDrawing() override { std::filesystem::remove_all(folder_); }
  std::string file(const char* name) const { return folder_ + "/" + name; }
  Image art(const Coupon& coupon, double pixel = 25e-6) const {
    write_art(file("art.png"), coupon, pixel);
    return artwork::read_image(file("art.png"));
  }

 private:
  std::string folder_ = testing::TempDir() + "/coupon_drawing_" + std::to_string(getpid());
};

constexpr double kPixel = 25e-6;

bool black(const Image& art, double x, double y, double pixel = kPixel) {
  const int column = static_cast<int>(x / pixel), row = art.height - 1 - static_cast<int>(y / pixel);
  return art.tone[size_t(row) * size_t(art.width) + size_t(column)] == 0;
}

struct Area {
  double all = 0, burnt = 0;  // [m^2]
};
// Of the pixels whose middles lie within.
Area area(const Image& art, const Rectangle& place, double pixel = kPixel) {
  Area out;
  for (int row = 0; row < art.height; ++row)
    for (int column = 0; column < art.width; ++column) {
      const double x = (column + 0.5) * pixel, y = (art.height - row - 0.5) * pixel;
      if (!within(place, x, y, 0)) continue;
      out.all += pixel * pixel, out.burnt += black(art, x, y, pixel) * pixel * pixel;
    }
  return out;
}
double black_share(const Image& art, const Rectangle& place, double pixel = kPixel) {
  const Area found = area(art, place, pixel);
  return found.all > 0 ? found.burnt / found.all : -1;
}

Rectangle grown(const Rectangle& place, double by) {
  return {place.x - by, place.y - by, place.width + 2 * by, place.height + 2 * by};
}

// pHYs of a file, pixels a metre.
std::array<png_uint_32, 2> pitch(const std::string& path) {
  const std::unique_ptr<FILE, int (*)(FILE*)> file(std::fopen(path.c_str(), "rb"), std::fclose);
  png_structp png = png_create_read_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  png_infop info = png_create_info_struct(png);
  png_init_io(png, file.get());
  png_read_info(png, info);
  std::array<png_uint_32, 2> out{};
  int unit = 0;
  png_get_pHYs(png, info, out.data(), &out[1], &unit);
  png_destroy_read_struct(&png, &info, nullptr);
  return out;
}

TEST_F(CouponDrawing, ArtHasItsPhysicalSize) {
  const Image image = art(small_coupon());
  EXPECT_EQ(image.width, 1440);
  EXPECT_EQ(image.height, 960);
  EXPECT_EQ(pitch(file("art.png"))[0], 40000u);
  EXPECT_EQ(pitch(file("art.png"))[1], 40000u);
  for (const std::uint16_t tone : image.tone) ASSERT_TRUE(tone == 0 || tone == 65535);
}

TEST_F(CouponDrawing, ArtBurnsEachPatchWhole) {
  const Coupon coupon = small_coupon();
  const Image image = art(coupon);
  for (const Slot& slot : coupon.slots) {
    SCOPED_TRACE(slot.number);
    const Rectangle& at = slot.place;
    if (slot.patch.is_line()) {
      const double x = at.x + at.width / 2, y = at.y + at.height / 2,
                   near = 0.1 * kPixel;  // at the edge of two pixels
      EXPECT_TRUE(black(image, x - near, y - near) || black(image, x + near, y + near));
      const bool axial = slot.patch.direction == motion::Direction::axial;
      EXPECT_NEAR(black_share(image, at), kPixel / (axial ? at.height : at.width), 1e-9);
    } else {
      EXPECT_EQ(black_share(image, at), 1);
      EXPECT_EQ(black_share(image, {at.x - 0.3e-3, at.y, 0.25e-3, at.height}), 0);
      EXPECT_EQ(black_share(image, {at.x, at.y + at.height + 0.05e-3, at.width, 0.25e-3}), 0);
    }
  }
}

TEST_F(CouponDrawing, ArtHasItsCornerMarks) {
  const Coupon coupon = small_coupon();
  const Image image = art(coupon);
  for (int i = 1; i < 4; ++i) EXPECT_EQ(black_share(image, corner_mark(coupon, i)), 1) << i;
  EXPECT_NEAR(black_share(image, corner_mark(coupon, 0)), 8 / 9.0, 1e-9);
  EXPECT_EQ(black_share(image, {1e-3, 1e-3, 1e-3, 1e-3}), 0);
  for (int i = 0; i < 4; ++i) {  // nothing within a mark's own side around it
    const Rectangle at = corner_mark(coupon, i);
    const double x = at.x == 0 ? at.width : at.x - 1e-3, y = at.y == 0 ? at.height : at.y - 1e-3;
    EXPECT_EQ(black_share(image, {x, at.y, 1e-3, at.height}), 0) << i;
    EXPECT_EQ(black_share(image, {at.x, y, at.width, 1e-3}), 0) << i;
  }
}

TEST_F(CouponDrawing, LabelsFillTheirRoomAndNothingElse) {
  const Coupon coupon = small_coupon();
  const Image image = art(coupon);
  double all = 0;
  for (const Slot& slot : coupon.slots) {
    SCOPED_TRACE(slot.number);
    const Rectangle room = label_place(coupon, slot);
    const double thick = 0.05e-3 + kPixel;  // half a stroke
    const Area of = area(image, grown(room, thick));
    EXPECT_GT(of.burnt, 0.05 * of.all);
    EXPECT_LT(of.burnt, 0.5 * of.all);
    all += of.burnt;
    if (!slot.patch.is_line()) all += slot.place.width * slot.place.height;
  }
  all += 4e-3 * kPixel + 3e-3 * kPixel + (4 - 1 / 9.0) * 9e-6;
  EXPECT_NEAR(area(image, {0, 0, coupon.width, coupon.height}).burnt, all, 1e-6 * all);
}

TEST_F(CouponDrawing, WithoutLettersThereAreNoLabels) {
  Coupon coupon = small_coupon();
  const std::vector<Slot> slots = coupon.slots;
  coupon.letters = 0;
  const Image image = art(coupon);
  for (const Slot& slot : slots) EXPECT_EQ(black_share(image, label_place(small_coupon(), slot)), 0);
}

TEST_F(CouponDrawing, APixelThatMakesNoPictureIsRefused) {
  for (const double pixel : {0.0, -1e-6, 1e-9, 1.0, double(NAN), double(INFINITY)})
    EXPECT_THROW(write_art(file("art.png"), small_coupon(), pixel), ValidityError) << pixel;
  EXPECT_FALSE(std::filesystem::exists(file("art.png")));
  EXPECT_THROW(write_art(file("none/art.png"), small_coupon()), quantity::FileError);
  EXPECT_THROW(write_art(file("art.png"), {}), ValidityError);
}

// Every letter that labels are made of, in its own strokes and within its own cell.
TEST(CouponLetters, StandInTheirCells) {
  const Coupon coupon = small_coupon();
  for (size_t i = 0; i < coupon.slots.size(); ++i) {
    const Slot& slot = coupon.slots[i];
    const std::vector<Trace> strokes = lettering(coupon)[i];
    const Rectangle room = label_place(coupon, slot);
    EXPECT_GT(strokes.size(), label(coupon, slot).size() / 2);
    double left = 1, right = 0, low = 1, high = 0;
    for (const Trace& trace : strokes) {
      EXPECT_GE(trace.size(), 2u);
      for (const auto& [x, y] : trace)
        left = std::min(left, x), right = std::max(right, x), low = std::min(low, y), high = std::max(high, y);
    }
    EXPECT_NEAR(left, room.x, 0.2 * coupon.letters);
    EXPECT_NEAR(right, room.x + room.width, 0.4 * coupon.letters);  // of a narrow last letter
    EXPECT_NEAR(low, room.y, 1e-9);
    EXPECT_NEAR(high, room.y + room.height, 1e-9);
  }
}

TEST_F(CouponDrawing, PictureOfChances) {
  const Coupon coupon = small_coupon();
  Shading shading;
  for (int i = 0; i < 5; ++i) {
    shading.chances.push_back({0, 0, 0, 0});
    shading.chances.back()[size_t(i % 4)] = i < 4 ? 1 : 0.5;
    if (i == 4) shading.chances.back()[3] = 0.5;
  }
  write_picture(file("plain.png"), coupon);
  write_picture(file("shaded.png"), coupon, shading);
  const Image plain = artwork::read_image(file("plain.png")), shaded = artwork::read_image(file("shaded.png"));
  EXPECT_EQ(plain.width, shaded.width);
  EXPECT_NE(plain.tone, shaded.tone);
  const double scale = pitch(file("plain.png"))[0];  // drawn to scale
  EXPECT_GT(plain.width, coupon.width * scale);
  EXPECT_GT(plain.height, coupon.height * scale);
  EXPECT_LT(plain.width, coupon.width * scale + 300);
  shading.chances.pop_back();
  EXPECT_THROW(write_picture(file("a.png"), coupon, shading), ValidityError);
  shading.chances.push_back({0.5, 0.5, 0.5, 0});
  EXPECT_THROW(write_picture(file("a.png"), coupon, shading), ValidityError);
  shading.chances.back() = {NAN, 0, 0, 1};
  EXPECT_THROW(write_picture(file("a.png"), coupon, shading), ValidityError);
}

}  // namespace
}  // namespace circumfluence::calibration

// Truth: tables read back, and RFC 4180 by hand.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "calibration/coupon.h"

namespace circumfluence::calibration {
namespace {

using quantity::JobError;
using testing::AllOf;
using testing::HasSubstr;
using testing::StartsWith;
using testing::ThrowsMessage;

bool near(double a, double b) {
  return std::abs(a - b) <= 1e-9 * std::abs(b) + 1e-15;
}

bool same(const Patch& a, const Patch& b) {
  return near(a.power, b.power) && near(a.speed, b.speed) && near(a.spacing, b.spacing) &&
         a.passes == b.passes && near(a.focus_offset, b.focus_offset) && a.direction == b.direction;
}

bool same(const Coupon& a, const Coupon& b) {
  if (a.ground != b.ground || !near(a.width, b.width) || !near(a.height, b.height) ||
      !near(a.corner, b.corner) || !same(a.ink, b.ink) || !near(a.letters, b.letters) ||
      a.slots.size() != b.slots.size())
    return false;
  for (size_t i = 0; i < a.slots.size(); ++i) {
    const Rectangle &p = a.slots[i].place, &q = b.slots[i].place;
    if (a.slots[i].number != b.slots[i].number || !same(a.slots[i].patch, b.slots[i].patch) ||
        !near(p.x, q.x) || !near(p.y, q.y) || !near(p.width, q.width) || !near(p.height, q.height))
      return false;
  }
  return true;
}

double any(double from, double to) {
  return from * std::pow(to / from, *rc::gen::inRange(0, 1'000'001) * 1e-6);
}

Patch any_patch(bool line) {
  return {.power = any(1e-3, 1e3),
          .speed = any(1e-4, 10),
          .spacing = line ? 0.0 : any(1e-6, 1e-3),
          .passes = *rc::gen::inRange(1, 101),
          .focus_offset = *rc::gen::inRange(-1000, 1001) * 3.7e-6,
          .direction = motion::Direction(*rc::gen::inRange(0, 2))};
}

Coupon any_coupon() {
  Coupon out{
      .ground = Ground(*rc::gen::inRange(0, 2)), .width = any(30e-3, 300e-3), .height = any(30e-3, 300e-3)};
  out.corner = any(1e-3, 5e-3), out.ink = any_patch(false), out.letters = *rc::gen::inRange(0, 3) * 0.7e-3;
  const int count = *rc::gen::inRange(1, 20);
  const double pitch = (out.width - 2 * out.corner) / count;
  for (int i = 0; i < count; ++i)
    out.slots.push_back(
        {3 * i + 1, any_patch(i % 3 == 0), {out.corner + i * pitch, 10e-3, 0.9 * pitch, any(1e-3, 9e-3)}});
  return out;
}

RC_GTEST_PROP(CouponTable, ReadIsWhatWasWritten, ()) {
  const Coupon coupon = any_coupon();
  const std::string text = table(coupon);
  const Coupon back = parse_coupon(text, "coupon.csv");
  RC_ASSERT(same(back, coupon));
  RC_ASSERT(table(back) == text);
}

Coupon sample() {
  const Patch patch{.power = 7.5, .speed = 2500e-3 / 60, .spacing = 1e-4};
  Coupon out{.width = 40e-3, .height = 30e-3, .ink = patch};
  out.slots = {{1, patch, {5e-3, 20e-3, 4e-3, 4e-3}}, {2, patch, {17e-3, 20e-3, 4e-3, 4e-3}}};
  return out;
}

TEST(CouponTable, StandsInAFileWholly) {
  const auto path = std::filesystem::temp_directory_path() / ("coupon_table_" + std::to_string(::getpid()) + ".csv");
  write_table(path.string(), sample());
  EXPECT_TRUE(same(read_coupon(path.string()), sample()));
  std::filesystem::remove(path);
  EXPECT_THROW(read_coupon(path.string()), quantity::FileError);
  EXPECT_THROW(write_table("/nowhere/coupon.csv", sample()), quantity::FileError);
}

std::string replaced(std::string text, const std::string& what, const std::string& by) {
  for (size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += by.size())
    text.replace(at, what.size(), by);
  return text;
}

// What a spreadsheet of a country with decimal commas makes of it: semicolons, CRLF, a byte-order mark,
// quoted remarks.
TEST(CouponTable, AsSpreadsheetsWriteIt) {
  const std::string text = table(sample());
  const size_t header = text.find("what,");
  const std::string body =
      replaced(replaced(replaced(text.substr(header), ",", ";"), ".", ","), "\n", "\r\n");
  EXPECT_TRUE(same(parse_coupon("\xEF\xBB\xBF\"# a, b\r\nc\";;;\r\n;;;\r\n" + body, "t"), sample()));
  EXPECT_TRUE(same(parse_coupon("# \"\r\n" + replaced(text.substr(header), ",", "\t"), "t"), sample()));
  std::string other = replaced(text, "power [W]", "Power [mW]");
  other = replaced(other, ",7.5,", ",7500,");
  EXPECT_TRUE(same(parse_coupon(other, "t"), sample()));
  EXPECT_TRUE(same(parse_coupon(replaced(text, ",7.5,", ",\"7500 mW\","), "t"), sample()));
}

// Row and column at which it stands; the header row is line 4.
TEST(CouponTable, RefusesWithLineAndColumn) {
  const std::string text = table(sample());
  const auto expect = [&](const std::string& what, const std::string& by, const char* place,
                          const char* words) {
    EXPECT_THAT([&] { parse_coupon(replaced(text, what, by), "c.csv"); },
                ThrowsMessage<JobError>(AllOf(StartsWith(place), HasSubstr(words))))
        << by;
  };
  expect("patch,1,7.5", "patch,1,seven", "c.csv:10:9:", "power = \"seven\"");
  expect("patch,1,7.5", "patch,1,", "c.csv:10:9:", "power is missing");
  expect("patch,1,7.5", "patch,1,nan", "c.csv:10:9:", "power");
  expect("patch,1,7.5", "patch,1,1e999", "c.csv:10:9:", "power");
  expect("patch,1,7.5", "patch,1,-2", "c.csv:10:1:", "power of slot 1 = -2 W");
  expect("patch,1,7.5", "patch,1,7.5 mm", "c.csv:10:9:", "power");
  expect("patch,2", "patch,1", "c.csv:", "number 1 stands beside two slots");
  expect("patch,2", "patch,1.5", "c.csv:11:7:", "number = 1.5 (expected a whole number)");
  expect("patch,2", "patch,1e12", "c.csv:11:7:", "whole number");
  expect("patch,2", "pach,2", "c.csv:11:1:", "Did you mean \"patch\"?");
  expect("axial", "sideways", "c.csv:5:", "direction = \"sideways\" (expected axial or around)");
  expect("power [W]", "pover [W]", "c.csv:", "column \"power\" is missing");
  expect("power [W]", "power", "c.csv:5:9:", "a number without a unit");
  expect("power [W]", "power [m]", "c.csv:5:9:", "power");
  expect("speed [mm/min]", "power [W]", "c.csv:4:23:", "comes twice");
  expect("corner,", "patch,", "c.csv:", "0 corner marks");
  expect("37,0,3,3", "36,0,3,3", "c.csv:5:", "no corner mark at 37, 0 mm");
  expect("patch,2,", "patch,\"2\"x,", "c.csv:11:10:", "text after a quoted cell");
  expect("patch,2,", "\"patch,2,", "c.csv:11:1:", "does not end");
  expect("patch,2,", "patch,\xFF,", "c.csv:11:7:", "UTF-8");
  expect("patch,2,", std::string("patch,2\0,", 9), "c.csv:11:8:", "UTF-8");
  expect("20,4,4,,,,", "20,4,4,,,,,,more", "c.csv:10:", "beyond the last column");
}

TEST(CouponTable, RefusesWhatIsNoTable) {
  const auto refused = [](const std::string& text, const char* words) {
    EXPECT_THAT([&] { parse_coupon(text, "c.csv"); }, ThrowsMessage<JobError>(HasSubstr(words)));
  };
  refused("", "no header row");
  refused("# nothing\n\n,,,\n", "no header row");
  refused("hello", "column \"what\" is missing");
  refused(std::string(5 << 20, 'x'), "4 MiB");
  refused(std::string(10, ','), "no header row");
  refused("a" + std::string(100, ','), "more than 64 cells");
  std::string rows = "what\n";
  for (int i = 0; i < 20001; ++i) rows += "x\n";
  refused(rows, "more than 20000 rows");
}

// Rows that sorting has moved about, columns in another order, columns of a person's own.
TEST(CouponTable, OrderDoesNotCount) {
  std::string text = table(sample());
  const size_t body = text.find('\n', text.find("what,")) + 1, patches = text.find("patch,");
  text = text.substr(0, body) + text.substr(patches) + text.substr(body, patches - body);
  EXPECT_TRUE(same(parse_coupon(text, "t"), sample()));
  EXPECT_TRUE(same(parse_coupon(replaced(text, "remark", "own column"), "t"), sample()));
}

TEST(Cells, QuotesBlanksAndShortRows) {
  const Cells cells = read_cells(" Name [m] ,remark,\n\"1\"\"2\", a b ,\n3\n\"x\ny\",z\n", "t");
  ASSERT_EQ(cells.titles.size(), 3u);
  EXPECT_EQ(cells.titles[0].name, "name");
  EXPECT_EQ(cells.titles[0].unit, "m");
  ASSERT_EQ(cells.rows.size(), 3u);
  EXPECT_EQ(cells.rows[0][0].text, "1\"2");
  EXPECT_EQ(cells.rows[0][1].text, "a b");
  EXPECT_EQ(cells.rows[1][1].text, "");
  EXPECT_EQ(cells.rows[2][0].text, "x\ny");
  EXPECT_EQ(cells.rows[2][1].line, 5);
  EXPECT_EQ(cells.number(1, 0, "mm"), 3.0);
  EXPECT_TRUE(std::isnan(cells.number(1, 1, "mm")));
  EXPECT_FALSE(cells.find("other"));
}

RC_GTEST_PROP(Cells, WrittenCellsAreReadBack, (std::string text)) {
  std::erase_if(text, [](char c) {
    return static_cast<unsigned char>(c) < 0x20 || static_cast<unsigned char>(c) > 0x7E;
  });
  while (text.starts_with(' ')) text.erase(0, 1);
  while (text.ends_with(' ')) text.pop_back();
  const Cells cells = read_cells("a,b\nx," + cell(text) + "\n", "t");
  RC_ASSERT(cells.rows.at(0).at(1).text == text);
}

// Whatever comes: a refusal or a table, never more.
RC_GTEST_PROP(Cells, AnythingIsReadOrRefused, (std::string text)) {
  try {
    (void)parse_coupon("what,number,power [W]\n" + text, "t");
  } catch (const JobError&) {
  }
}

}  // namespace
}  // namespace circumfluence::calibration

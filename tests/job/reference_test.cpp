// Truth: the field tables themselves; every key has its row.
#include "job/reference.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "job/sections.h"

namespace circumfluence::job {
namespace {

using testing::HasSubstr;

TEST(Reference, HasARowForEveryKey) {
  const std::string page = job_file_reference();
  for (const std::string& address : addresses()) {
    const size_t dot = address.find('.');
    const size_t section = page.find("## `[" + address.substr(0, dot) + "]`");
    ASSERT_NE(section, std::string::npos) << address;
    const size_t row = page.find("\n| `" + address.substr(dot + 1) + "` |", section);
    ASSERT_NE(row, std::string::npos) << address;
    EXPECT_LT(row, page.find("\n## ", section + 1)) << address;
  }
}

TEST(Reference, ShowsUnitBoundsChoicesAndDefaults) {
  const std::string page = job_file_reference();
  EXPECT_THAT(
      page,
      HasSubstr("| `power` | W, % | a power from 0 W to 5000 W, or a ratio from 0 % to 100 % | required |"));
  EXPECT_THAT(page, HasSubstr("| `hold` |  | one of \"turning\", \"standing\" | required |"));
  EXPECT_THAT(page, HasSubstr("| `margin` | mm | a length from 0 mm to 1000 mm | `1 mm` |"));
  EXPECT_THAT(page, HasSubstr("| `m2_axial` | 1 | a number from 1 to 1000 | not given |"));
  EXPECT_THAT(page, HasSubstr("| `passes` |  | a whole number from 1 to 100 | `1` |"));
  EXPECT_THAT(page, HasSubstr("## `[[material.NAME.optics]]`"));
}

TEST(Reference, KeepsItsTablesWhole) {
  const std::string page = job_file_reference();
  for (size_t start = 0; start < page.size();) {
    const size_t end = std::min(page.find('\n', start), page.size());
    const std::string line = page.substr(start, end - start);
    if (line.starts_with("|")) {
      size_t bars = 0;
      for (size_t i = 0; i < line.size(); ++i) bars += line[i] == '|' && (i == 0 || line[i - 1] != '\\');
      EXPECT_EQ(bars, 6u) << line;
    }
    start = end + 1;
  }
}

}  // namespace
}  // namespace circumfluence::job

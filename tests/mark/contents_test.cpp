// Truth: the tables themselves; every row must be on the page.
#include "mark/mark_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>


namespace circumfluence::mark {
namespace {

using testing::HasSubstr;

TEST(FormatPage, ListsEveryDatasetWithTypeShapeAndUnit) {
  const std::string page = mark_format_page();
  for (const AxisInfo& axis : axes())
    EXPECT_THAT(page, HasSubstr("| `/" + std::string(axis.name) + "` | float64 | `[" + axis.over + "]` | `" +
                                axis.unit + "` |"));
  for (const LayerInfo& layer : layers())
    EXPECT_THAT(page,
                HasSubstr("| `/" + std::string(layer.name) + "` | " + (layer.flags ? "uint8" : "float32") +
                          " | `[around, axial]` | `" + layer.unit + "` |"));
  for (const EntryInfo& entry : entries())
    EXPECT_THAT(page,
                HasSubstr("| `" + std::string(entry.group) + "` | `" + entry.name + "` | " + entry.type));
  EXPECT_THAT(page, HasSubstr("0 = untouched, 1 = under_marked, 2 = marked, 3 = over_burned"));
  EXPECT_THAT(page,
              HasSubstr("`" + std::string(kFormatName) + "`, version " + std::to_string(kFormatVersion)));
}

}  // namespace
}  // namespace circumfluence::mark

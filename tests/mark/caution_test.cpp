// Truth: the class limit of IEC 60825-1 (above 0.5 W: class 4); the rest is common practice, no source.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mark/small_job.h"

namespace circumfluence::mark {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::Not;

std::vector<std::string> said(const SmallJob& small) {
  return cautions(prepare(small.job));
}

TEST(Caution, ClassFourAboveHalfAWatt) {
  SmallJob small;
  EXPECT_THAT(said(small), Contains(HasSubstr("Class 4")));
  EXPECT_THAT(said(small), Contains(HasSubstr("rated for 450 nm")));
  small.job.laser.rated_power = 0.5;
  EXPECT_THAT(said(small), Not(Contains(HasSubstr("Class 4"))));
}

TEST(Caution, UnseenLight) {
  SmallJob small;
  EXPECT_THAT(said(small), Not(Contains(HasSubstr("cannot be seen"))));
  EXPECT_THAT(said(small.with("laser.wavelength", "1064 nm")),
              Contains(HasSubstr("this light cannot be seen")));
}

TEST(Caution, WhatTheRecordsSay) {
  SmallJob small;
  EXPECT_THAT(said(small), Contains(HasSubstr("Powder coats")));
  EXPECT_THAT(said(small), Contains(HasSubstr("PVC")));
  EXPECT_THAT(said(small), Contains(HasSubstr("sealed, pressurised or filled")));
  EXPECT_THAT(said(small), Contains(HasSubstr("unattended")));
  EXPECT_THAT(said(small.bare("aisi_304", "0.4 mm")), Contains(HasSubstr("chromium")));
  EXPECT_THAT(said(small), Contains(HasSubstr("vacuum-insulated walls")));
}

TEST(Caution, FireOnOrganicSurfacesOnly) {
  SmallJob small;
  EXPECT_THAT(said(small), Not(Contains(HasSubstr("catch fire"))));
  EXPECT_THAT(said(small.bare("cardboard", "2 mm")), Contains(HasSubstr("catch fire")));
}

TEST(Caution, WholeSentences) {
  SmallJob small;
  for (const std::string& line : said(small)) EXPECT_TRUE(line.back() == '.' && line.size() > 20) << line;
}

}  // namespace
}  // namespace circumfluence::mark

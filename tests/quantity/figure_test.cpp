// Truth: the normal distribution's table, and that what is known exactly is or is not.
#include "quantity/figure.h"

#include <gtest/gtest.h>

namespace circumfluence::quantity {
namespace {

TEST(Figure, ANormalOneLiesBelowItsDeviatesAsTheTableHasIt) {
  EXPECT_EQ(normal_below(0), 0.5);
  EXPECT_NEAR(normal_below(1), 0.8413447460685429, 1e-15);
  EXPECT_NEAR(normal_below(-1.6448536269514722), 0.05, 1e-15);
  EXPECT_NEAR(normal_below(-6) * 1e9, 0.986587645, 1e-8);  // a tail does not drown
}

TEST(Figure, AFactorIsOneOrMoreWithTheChanceOfItsLogarithm) {
  EXPECT_EQ(chance_of_one(0.3, 0.3), normal_below(1));
  EXPECT_EQ(chance_of_one(0, 0), 1);
  EXPECT_EQ(chance_of_one(-1e-9, 0), 0);
}

}  // namespace
}  // namespace circumfluence::quantity

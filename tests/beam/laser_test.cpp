// Truth: what fits together; the least spot is that of a half-angle of 1 rad, w = M2 lambda / pi.
#include "beam/laser.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "quantity/error.h"

namespace circumfluence::beam {
namespace {

using quantity::JobError;
using testing::HasSubstr;
using testing::ThrowsMessage;

Laser diode() {
  Laser l;
  l.wavelength = 450e-9;
  l.spot_axial = 40e-6;
  l.spot_around = 120e-6;
  l.m2_axial = 4;
  l.m2_around = 12;
  return l;
}

TEST(Laser, WithM2OrAFocusDepthIsAccepted) {
  EXPECT_NO_THROW(check(diode()));
  Laser l = diode();
  l.m2_axial = l.m2_around = quantity::kUnset;
  l.focus_depth = 2e-3;
  EXPECT_NO_THROW(check(l));
}

TEST(Laser, NeedsExactlyOneOfThem) {
  Laser both = diode();
  both.focus_depth = 2e-3;
  EXPECT_THAT([&] { check(both); }, ThrowsMessage<JobError>(HasSubstr("laser.focus_depth")));
  Laser one = diode();
  one.m2_around = quantity::kUnset;
  EXPECT_THAT([&] { check(one); }, ThrowsMessage<JobError>(HasSubstr("laser.m2_axial")));
}

TEST(Laser, RefusesASpotThatLightCannotMake) {
  Laser l = diode();
  l.spot_around = 2 * 12 * 450e-9 / 3.14159265358979 * 0.999;
  EXPECT_THAT([&] { check(l); }, ThrowsMessage<JobError>(HasSubstr("laser.spot_around")));
  l.spot_around *= 1.002;
  EXPECT_NO_THROW(check(l));
}

TEST(Laser, PulsesNeedACarrier) {
  Laser l = diode();
  l.modulation = Modulation::pulsed;
  EXPECT_THAT([&] { check(l); }, ThrowsMessage<JobError>(HasSubstr("laser.carrier")));
  l.carrier = 5e3;
  EXPECT_NO_THROW(check(l));
}

}  // namespace
}  // namespace circumfluence::beam

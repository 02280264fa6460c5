// The small job on a rotary of rollers, with everything stated that a set-up sheet asks for but the steps now set.
#pragma once

#include "mark/small_job.h"

namespace circumfluence::mark {

// Rollers of 25 mm, 20 mm apart: 200 x 16 x 2.5 steps a turn.
struct Rollers : SmallJob {
  Rollers() {
    motion::Rotary& r = job.rotary;
    r.drive = motion::Drive::rollers;
    r.motor_steps = 200, r.microsteps = 16, r.reduction = 2.5;
    r.roller_diameter = 25e-3, r.roller_gap = 20e-3, r.axle_height = 22e-3;
    r.flat_steps = 80e3;
    job.laser.focus_distance = 20e-3;
    job.mount.head_height = 75e-3;
  }
};

inline void face(SmallJob& small, motion::Toward mouth_faces, motion::Toward axial_feed, motion::Toward around_feed) {
  motion::Mount& mount = small.job.mount;
  mount.mouth = motion::End::end;
  mount.mouth_faces = mouth_faces, mount.axial_feed = axial_feed, mount.around_feed = around_feed;
}

}  // namespace circumfluence::mark

// What a fit is asked with from Python.
#pragma once

#include "calibration_given.h"

namespace circumfluence::bindings {

struct FitAsked {
  calibration::FitRequest request;
  std::shared_ptr<calibration::Fit> earlier;  // that request.earlier points to
};
FitAsked take_fit(Keywords& given);  // chains, earlier, stray, threads, progress

}  // namespace circumfluence::bindings

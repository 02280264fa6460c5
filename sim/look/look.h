// All that can be said of how a job will look, in one go: what circumfluence look prints.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "look/code.h"
#include "look/lettering.h"
#include "look/round.h"
#include "look/tones.h"

namespace circumfluence::look {

struct LookRequest {
  bool tones = true;    // tone curves by power and by the job's screen
  bool letters = true;
  bool codes = true;    // room for codes; those in the art are graded anyway
  int threads = 0;
  quantity::Progress progress = {};
};

struct Look {
  mark::MarkMap map;                 // with its maps kept
  Skin skin = {};                    // wiped, of the size that pictures are drawn from
  std::optional<Skin> fine = {};     // the same as fine as the art's codes want it; none without codes
  Contrast contrast{}, unwiped{};    // of a full area, after and before the wipe
  std::vector<ToneCurve> curves = {};     // by power, by dots
  std::optional<Smallest> smallest = {};
  std::optional<Lettering> lettering = {};
  std::vector<CodeGrade> codes = {};
  std::optional<CodeRoom> room = {};
  std::vector<std::string> notes = {};    // without repetition
};

// Throws what predicting throws.
Look look(const job::Job& job, const LookRequest& request = {});

// In lines, and as JSON in SI units.
std::string text(const Look& look);
std::string json(const Look& look);

}  // namespace circumfluence::look

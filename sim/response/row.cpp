#include "response/row.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "quantity/lanes.h"
#include "response/model.h"
#include "response/row_kernel.h"

namespace circumfluence::response {
namespace {

CIRCUMFLUENCE_LANES void ratio(const float* above, float plus, const float* below, float* out, int n) {
  constexpr float kNever = std::numeric_limits<float>::infinity();
  for (int i = 0; i < n; ++i) out[i] = below[i] > 0.0f ? (above[i] + plus) / below[i] : kNever;
}

CIRCUMFLUENCE_LANES void inverse(float above, const float* below, float* out, int n) {
  constexpr float kNever = std::numeric_limits<float>::infinity();
  for (int i = 0; i < n; ++i) out[i] = below[i] > 0.0f ? above / below[i] : kNever;
}

}  // namespace

Row::Row(int columns, const Film* film, float rise_limit, const Reacting* reacting)
    : columns_(columns),
      has_film_(film != nullptr),
      film_(film ? *film : Film{}),
      rise_limit_(rise_limit),
      reacting_(reacting) {
  for (std::vector<float>* array : {&fluence_, &left_, &rise_, &centre_, &absorbed_, &spent_, &over_cost_, &over_by_,
                                    &strongest_, &dose_, &event_rise_, &event_dose_})
    array->resize(columns);
}

void Row::clear(int columns) {
  columns_ = columns;
  for (std::vector<float>* array :
       {&fluence_, &rise_, &centre_, &absorbed_, &spent_, &over_by_, &strongest_, &dose_})
    std::fill_n(array->begin(), columns, 0.0f);
  std::fill_n(over_cost_.begin(), columns, 1.0f);
  std::fill_n(left_.begin(), columns, has_film_ ? film_.thickness : 0.0f);
}

void Row::pass(const Passage& event) {
  const RowArrays row{columns_,         fluence_.data(), left_.data(),      rise_.data(),    centre_.data(),
                      absorbed_.data(), spent_.data(),   over_cost_.data(), over_by_.data(), strongest_.data()};
  if (!has_film_) {
    pass_bare(row, event);
    if (reacting_ != nullptr) react(event);
  } else if (event.uniform && event.share[0] == 0.0f)
    pass_warm(row, event, rise_limit_);
  else if (film_.law == RemovalLaw::steady)
    pass_steady(row, event, film_, rise_limit_);
  else
    pass_blow_off(row, event, film_, rise_limit_);
}

// The cell's centre goes through the passage's own cycle, from the wall's own temperature.
void Row::react(const Passage& event) {
  const size_t n = static_cast<size_t>(columns_);
  centre_rises({columns_, event.uniform}, event, event_rise_.data());
  const std::span<const float> rises(event_rise_.data(), n), background(event.background, event.background ? n : 0);
  const bool as_long = event.scale == nullptr;
  float* const doses = as_long ? dose_.data() : event_dose_.data();
  if (!as_long) std::fill_n(event_dose_.begin(), n, 0.0f);
  if (event.background != nullptr)
    reacting_->dose.add(rises, background, {doses, n});
  else
    reacting_->dose.add(rises, {doses, n});
  if (!as_long)
    for (size_t i = 0; i < n; ++i) dose_[i] += event_dose_[i] * event.scale[event.uniform ? 0 : i];
}

void Row::mark_factor(std::span<float> out) const {
  if (film_.law == RemovalLaw::steady) {
    ratio(spent_.data(), film_.need * film_.energy, absorbed_.data(), out.data(), columns_);
    return;
  }
  for (int i = 0; i < columns_; ++i)
    out[i] = spent_[i] > 0 ? std::exp((film_.need / film_.depth - absorbed_[i]) / spent_[i])
                           : std::numeric_limits<float>::infinity();
}

void Row::through_factor(std::span<float> out) const {
  ratio(spent_.data(), film_.thickness * film_.energy, absorbed_.data(), out.data(), columns_);
}

void Row::over_factor(std::span<float> out) const {
  if (has_film_)
    ratio(over_cost_.data(), 0.0f, over_by_.data(), out.data(), columns_);
  else
    inverse(rise_limit_, rise_.data(), out.data(), columns_);
}

}  // namespace circumfluence::response

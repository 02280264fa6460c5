// What a setting will come to, as a fit has it.
#include <algorithm>
#include <cmath>

#include "calibration/fit.h"
#include "quantity/error.h"
#include "window/sobol.h"

namespace circumfluence::calibration {

Eigen::MatrixXd draws_of(const Fit& fit, int count, std::uint64_t seed) {
  const long n = fit.best.size();
  if (count < 1) throw quantity::ValidityError("draws_of: count below 1 (expected at least one draw)");
  if (n == 0) return Eigen::MatrixXd::Zero(count, 0);
  if (const Eigen::MatrixXd& all = fit.draws; all.rows() > 0 && all.cols() == n) {
    Eigen::MatrixXd out(count, n);
    for (long i = 0; i < count; ++i)
      out.row(i) = all.row(long((double(i) + 0.5) / count * double(all.rows())));
    return out;
  }
  const std::vector<double> points = window::normal_points(static_cast<int>(n), count, seed);
  const Eigen::Map<const Eigen::MatrixXd> x(points.data(), n, count);
  return ((root_of(fit.covariance) * x).colwise() + fit.best).transpose();
}

Forecast forecast(const mark::Scene& scene, const Fit& fit, const Patch& setting, int draws, int threads) {
  const Trials trials(with_threshold(scene), {setting}, fit.unknowns);
  const Eigen::MatrixXd deviates = draws_of(fit, draws);
  std::vector<LogEnds> found(static_cast<size_t>(draws));
  const auto solve = [&](int from, int to, int) {
    for (int i = from; i < to; ++i) {
      const Eigen::VectorXd z = deviates.row(i);
      found[size_t(i)] = trials.ends({z.data(), size_t(z.size())}).front();
    }
  };
  quantity::for_bands({.count = draws, .band = 4, .threads = threads}, solve);
  Forecast out{};
  for (const LogEnds& ends : found) {
    const std::array<double, 4> one = chances(ends, setting.power, kStray, 0);
    for (size_t c = 0; c < 4; ++c) out.chances[c] += one[c] / draws;
  }
  const auto interval = [&](double LogEnds::*which) {
    std::vector<double> values;
    for (const LogEnds& ends : found) values.push_back(std::exp(ends.*which));
    return window::interval(std::move(values));
  };
  out.begins = interval(&LogEnds::begins), out.marks = interval(&LogEnds::marks),
  out.burns = interval(&LogEnds::burns);
  return out;
}

}  // namespace circumfluence::calibration

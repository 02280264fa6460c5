#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <numeric>

#include "calibration/regression.h"

namespace circumfluence::calibration {
namespace {

constexpr int kRounds = 100;
constexpr double kStill = 1e-13;  // [1] of a curve's values, from round to round
constexpr double kNoLess =
    0.25;  // [1] of y as measured: where the curve falls below, near a threshold, that is its size

struct Solved {
  Eigen::VectorXd coefficients;
  Eigen::MatrixXd covariance;
};

Eigen::MatrixXd powers_of(const Points& points, int degree, double centre, double scale) {
  Eigen::MatrixXd out(static_cast<Eigen::Index>(points.x.size()), degree + 1);
  for (Eigen::Index i = 0; i < out.rows(); ++i) {
    const double u = (points.x[size_t(i)] - centre) / scale;
    for (int k = 0; k <= degree; ++k) out(i, k) = std::pow(u, k);
  }
  return out;
}

Solved solve(const Eigen::MatrixXd& powers, const Eigen::VectorXd& y, const Eigen::VectorXd& deviation) {
  const Eigen::VectorXd weight = deviation.cwiseInverse();
  const Eigen::MatrixXd weighted = weight.asDiagonal() * powers;
  const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(weighted);
  const Eigen::MatrixXd normal = weighted.transpose() * weighted;
  return {qr.solve(weight.cwiseProduct(y)),
          normal.colPivHouseholderQr().solve(Eigen::MatrixXd::Identity(normal.rows(), normal.cols()))};
}

}  // namespace

double Polynomial::operator()(double x) const {
  double sum = 0;
  for (size_t k = coefficients.size(); k-- > 0;) sum = sum * (x - centre) / scale + coefficients[k];
  return sum;
}

Polynomial polynomial(const Points& points, int degree, double error) {
  const auto [low, high] = std::minmax_element(points.x.begin(), points.x.end());
  const double count = double(points.x.size()),
               centre = std::accumulate(points.x.begin(), points.x.end(), 0.0) / count;
  const double scale = (*high - *low) / 2;
  const Eigen::MatrixXd powers = powers_of(points, degree, centre, scale);
  const Eigen::VectorXd y = Eigen::Map<const Eigen::VectorXd>(points.y.data(), Eigen::Index(points.y.size()));
  Eigen::VectorXd size = y;
  Solved solved;
  for (int round = 0; round < kRounds; ++round) {
    solved = solve(powers, y, 2 * error * size);
    const Eigen::VectorXd now = (powers * solved.coefficients).cwiseMax(kNoLess * y);
    const bool still = ((now - size).array().abs() <= kStill * size.array()).all();
    size = now;
    if (still) break;
  }
  const Eigen::VectorXd off = (y - powers * solved.coefficients).cwiseQuotient(2 * size);
  const double left = count - double(degree) - 1;
  const double scatter = left > 0 ? std::sqrt(off.squaredNorm() / left) : 0.0;
  const double greater = std::max(1.0, scatter / error);
  const Eigen::MatrixXd covariance =
      greater * greater * solved.covariance;  // symmetric: rows or columns first
  return {{solved.coefficients.begin(), solved.coefficients.end()},
          {covariance.data(), covariance.data() + covariance.size()},
          centre,
          scale,
          scatter};
}

}  // namespace circumfluence::calibration

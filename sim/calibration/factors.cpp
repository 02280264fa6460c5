// Linear algebra of matrices of any size, for all of the room: compilers take long over each decomposition.
#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/QR>

#include "calibration/fit.h"

namespace circumfluence::calibration {

using Eigen::MatrixXd;

Principal principal(const MatrixXd& symmetric) {
  const Eigen::SelfAdjointEigenSolver<MatrixXd> parts(symmetric);
  return {parts.eigenvalues(), parts.eigenvectors()};
}

MatrixXd root_of(const MatrixXd& covariance) {
  const Principal axes = principal(covariance);
  return axes.along * axes.squares.cwiseMax(0).cwiseSqrt().asDiagonal();
}

MatrixXd lower_root_of(const MatrixXd& covariance) {
  return covariance.llt().matrixL();
}

double log_determinant(const MatrixXd& covariance, double least) {
  const Eigen::LDLT<MatrixXd> factored(covariance);
  return factored.vectorD().array().max(least).log().sum();
}

MatrixXd turned_to(const MatrixXd& columns) {
  return Eigen::HouseholderQR<MatrixXd>(columns).householderQ() * MatrixXd::Identity(columns.rows(), columns.rows());
}

MatrixXd least_squares(const MatrixXd& of, const MatrixXd& to) {
  return of.completeOrthogonalDecomposition().solve(to);
}

}  // namespace circumfluence::calibration

// Filled four-sided spots in a picture: what may be a corner mark.
//
// The picture, scaled down, is compared with its own local mean over three sizes of neighbourhood and with
// one level for all, as darker and as lighter; outlines of what differs that have four corners are kept.
#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "calibration/photo.h"

namespace circumfluence::calibration {
namespace {

constexpr int kMostSquares = 4000;
constexpr double kLeastSide = 5.5;      // [px]
constexpr double kLeastContrast = 5.0;  // levels

cv::Mat grey(const Photo& photo, double factor, int channel) {
  const cv::Mat rgb(photo.height, photo.width, CV_8UC3,
                    const_cast<std::uint8_t*>(photo.pixels.data()->data()));
  cv::Mat small = rgb, out;
  if (factor < 1) cv::resize(rgb, small, {}, factor, factor, cv::INTER_AREA);
  if (channel < 0)
    cv::cvtColor(small, out, cv::COLOR_RGB2GRAY);
  else
    cv::extractChannel(small, out, channel);
  cv::GaussianBlur(out, out, {3, 3}, 0);
  return out;
}

double distance(Spot a, Spot b) {
  return std::hypot(a[0] - b[0], a[1] - b[1]);
}

Spot centre(const Square& s) {
  Spot sum{};
  for (const Spot& c : s.corners) sum = {sum[0] + c[0] / 4, sum[1] + c[1] / 4};
  return sum;
}

// The level at a place given in halves of the square's own sides, from its middle.
double level(const cv::Mat& picture, const Square& s, double across, double up) {
  const Spot m = centre(s);
  const auto& c = s.corners;
  const double x =
      m[0] +
      (across * (c[1][0] - c[0][0] + c[2][0] - c[3][0]) + up * (c[3][0] - c[0][0] + c[2][0] - c[1][0])) / 4;
  const double y =
      m[1] +
      (across * (c[1][1] - c[0][1] + c[2][1] - c[3][1]) + up * (c[3][1] - c[0][1] + c[2][1] - c[1][1])) / 4;
  const int column = std::clamp(int(std::lround(x)), 0, picture.cols - 1);
  const int row = std::clamp(int(std::lround(y)), 0, picture.rows - 1);
  return picture.at<std::uint8_t>(row, column);
}

double ring(const cv::Mat& picture, const Square& s, double half) {
  double sum = 0;
  for (const double a : {-1.0, -0.4, 0.4})
    sum += level(picture, s, a * half, half) + level(picture, s, half, -a * half) +
           level(picture, s, -a * half, -half) + level(picture, s, -half, a * half);
  return sum / 12;
}

bool well_formed(const std::vector<cv::Point>& corners) {
  if (corners.size() != 4 || !cv::isContourConvex(corners)) return false;
  double least = 1e9, most = 0;
  for (size_t i = 0; i < 4; ++i) {
    const cv::Point a = corners[i] - corners[(i + 1) % 4], b = corners[(i + 2) % 4] - corners[(i + 1) % 4];
    const double length = std::hypot(a.x, a.y), other = std::hypot(b.x, b.y);
    least = std::min(least, length);
    most = std::max(most, length);
    if (std::abs(a.dot(b)) > 0.7 * length * other) return false;
  }
  return least >= kLeastSide - 1 && least > 0.35 * most;
}

bool known(const std::vector<Square>& found, const Square& square) {
  const Spot m = centre(square);
  return std::ranges::any_of(found, [&](const Square& f) {
    return f.lighter == square.lighter && std::abs(f.side - square.side) < 0.2 * square.side &&
           distance(centre(f), m) < 0.15 * square.side;
  });
}

// Its corners as seen, half a pixel outward of the outline's pixels, or inward where the outline is a hole's.
Square square(const std::vector<cv::Point>& corners) {
  Square s{};
  const bool turned = cv::contourArea(corners, true) > 0;  // y is downward
  for (size_t i = 0; i < 4; ++i) {
    const cv::Point& p = corners[turned ? 3 - i : i];
    s.corners[i] = {double(p.x), double(p.y)};
  }
  for (size_t i = 0; i < 4; ++i) s.side += distance(s.corners[i], s.corners[(i + 1) % 4]) / 4;
  return s;
}

void collect(const cv::Mat& picture, cv::Mat marked, std::vector<Square>& found) {
  std::vector<std::vector<cv::Point>> outlines;
  cv::findContours(marked, outlines, cv::RETR_LIST, cv::CHAIN_APPROX_SIMPLE);
  const double most = 0.06 * picture.cols * picture.rows;
  std::vector<cv::Point> corners;
  for (const auto& outline : outlines) {
    if (outline.size() < 4 || int(found.size()) >= kMostSquares) continue;
    const double area = cv::contourArea(outline);
    if (area < kLeastSide * kLeastSide * 0.6 || area > most) continue;
    cv::approxPolyDP(outline, corners, 0.045 * cv::arcLength(outline, true), true);
    if (!well_formed(corners)) continue;
    Square s = square(corners);
    const double inside = ring(picture, s, 0.66), outside = ring(picture, s, 1.5);
    if (std::abs(inside - outside) < kLeastContrast) continue;
    s.lighter = inside > outside;
    double middle = 0;
    for (const double a : {-0.12, 0.12})
      for (const double b : {-0.12, 0.12}) middle += level(picture, s, a, b) / 4;
    s.hollow = (middle - inside) / (outside - inside);
    if (!known(found, s)) found.push_back(s);
  }
}

}  // namespace

std::vector<Square> find_squares(const Photo& photo, int longest, int channel) {
  const double factor = std::min(1.0, double(longest) / std::max(photo.width, photo.height));
  const cv::Mat picture = grey(photo, factor, channel);
  std::vector<Square> found;
  cv::Mat marked;
  const int size = std::max(picture.cols, picture.rows);
  for (const int part : {14, 40, 5})
    for (const bool lighter : {false, true}) {
      const int block = std::max(5, size / part) | 1;
      cv::adaptiveThreshold(picture, marked, 255, cv::ADAPTIVE_THRESH_MEAN_C,
                            lighter ? cv::THRESH_BINARY : cv::THRESH_BINARY_INV, block, lighter ? -5 : 5);
      collect(picture, marked, found);
    }
  cv::threshold(picture, marked, 0, 255, cv::THRESH_BINARY | cv::THRESH_OTSU);
  collect(picture, marked, found);
  // Back to pixels of the photograph, centres on whole numbers.
  const double x = double(photo.width) / picture.cols, y = double(photo.height) / picture.rows;
  for (Square& s : found) {
    for (Spot& c : s.corners) c = {(c[0] + 0.5) * x - 0.5, (c[1] + 0.5) * y - 0.5};
    s.side *= std::sqrt(x * y);
  }
  return found;
}

}  // namespace circumfluence::calibration

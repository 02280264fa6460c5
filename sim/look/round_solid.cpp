// Where lines of sight meet the part, and how much of the sky it hides from itself.
#include <algorithm>
#include <cmath>

#include "look/round.h"
#include "quantity/constants.h"

namespace circumfluence::look {
namespace {

constexpr int kSteps = 4096;                    // places at which the profile is looked at
constexpr int kPlaces = 33, kDirections = 128;  // at most: along an element, and of the sky
constexpr double kSky = 2e7;                    // lines of sight times elements, for all of the part
constexpr double kSlack = 1e-12;                // [1] of the length, for places on an edge

// Share of the way at which the n-th place lies: closer together towards both ends.
double share_at(int place, int places) {
  return (1 - std::cos(quantity::kPi * place / (places - 1))) / 2;
}

}  // namespace

Eye::Eye(double tilt) : to{std::sin(tilt), 0, std::cos(tilt)} {}

Solid::Solid(const workpiece::Profile& profile) {
  find_frusta(profile);
  open_up();
}

void Solid::find_frusta(const workpiece::Profile& profile) {
  const double length = profile.length(), close = kSlack * length;
  const auto inside = [&](double at) {
    return std::min(at, length * (1 - 1e-15));
  };  // the last piece, not what is beyond
  Frustum now{0, 0, profile.radius(0), profile.slope(0)};
  const auto same = [&](double at) {
    return profile.slope(inside(at)) == now.slope &&
           std::abs(profile.radius(inside(at)) - now.radius - now.slope * (at - now.from)) <= 1e3 * close;
  };
  for (int i = 1; i <= kSteps; ++i) {
    const double next = i == kSteps ? length : length * i / kSteps;
    double low = length * (i - 1) / kSteps;
    while (!same(next)) {
      double high = next;
      low = std::max(low, now.from);
      while (high - low > close) {
        const double middle = (low + high) / 2;
        (same(middle) ? low : high) = middle;
      }
      if (high > now.from + 2 * close) {
        now.to = high;
        frusta_.push_back(now);
      }
      now = {high, 0, profile.radius(high), profile.slope(high)};
      low = high;
      if (high >= next - close) break;
    }
  }
  now.to = length;
  frusta_.push_back(now);
  for (const Frustum& each : frusta_) widest_ = std::max({widest_, each.radius, each.end()});
}

double Solid::half_height(const Eye& eye) const {
  const double middle = frusta_.back().to / 2, seen = std::abs(eye.to.along);
  double most = 0;
  for (const Frustum& each : frusta_)
    most = std::max({most, std::abs(each.from - middle) * eye.to.toward + each.radius * seen,
                     std::abs(each.to - middle) * eye.to.toward + each.end() * seen});
  return most;
}

double Solid::inner(size_t face) const {
  return face == 0 || face == frusta_.size() ? 0 : std::min(frusta_[face - 1].end(), frusta_[face].radius);
}
double Solid::outer(size_t face) const {
  if (face == 0) return frusta_.front().radius;
  if (face == frusta_.size()) return frusta_.back().end();
  return std::max(frusta_[face - 1].end(), frusta_[face].radius);
}
bool Solid::outward(size_t face) const {
  return face == frusta_.size() || (face > 0 && frusta_[face - 1].end() > frusta_[face].radius);
}

// The farthest place along the ray that lies on the frustum: r(u)^2 = across^2 + toward^2.
std::optional<double> Solid::meet(const Frustum& f, const Ray& ray) const {
  const double radius = f.radius + f.slope * (ray.axial - f.from), widens = f.slope * ray.to.along;
  const double a = ray.to.across * ray.to.across + ray.to.toward * ray.to.toward - widens * widens;
  const double b = ray.across * ray.to.across + ray.toward * ray.to.toward - radius * widens;
  const double c = ray.across * ray.across + ray.toward * ray.toward - radius * radius;
  const double under = b * b - a * c;
  if (under < 0) return {};
  const double q = -(b + std::copysign(std::sqrt(under), b));
  const double slack = kSlack * frusta_.back().to;
  double roots[2] = {q / a, q == 0 ? q / a : c / q};
  if (!(roots[0] >= roots[1])) std::swap(roots[0], roots[1]);
  for (const double reach : roots) {
    const double at = ray.axial + reach * ray.to.along;
    if (std::isfinite(reach) && at >= f.from - slack && at <= f.to + slack) return reach;
  }
  return {};
}

std::optional<double> Solid::meet_face(size_t face, const Ray& ray) const {
  if (ray.to.along == 0 || !(outer(face) > inner(face))) return {};
  const double at = face < frusta_.size() ? frusta_[face].from : frusta_.back().to;
  const double reach = (at - ray.axial) / ray.to.along;
  const double across = ray.across + reach * ray.to.across, toward = ray.toward + reach * ray.to.toward;
  const double square = across * across + toward * toward, least = inner(face), most = outer(face);
  if (square < least * least || square > most * most) return {};
  return reach;
}

Sight Solid::sight(size_t element, const Ray& ray, double reach) const {
  const double across = ray.across + reach * ray.to.across, toward = ray.toward + reach * ray.to.toward;
  const double axial = ray.axial + reach * ray.to.along,
               radius = std::sqrt(across * across + toward * toward);
  Sight out{axial, std::atan2(across, toward), {}, 1, element % 2 == 0};
  if (out.face) {
    const size_t face = element / 2;
    out.normal = {outward(face) ? 1.0 : -1.0, 0, 0};
    if (!open_.empty()) out.open = open_at(element, (radius - inner(face)) / (outer(face) - inner(face)));
    return out;
  }
  const Frustum& f = frusta_[element / 2];
  const double flat = 1 / std::sqrt(1 + f.slope * f.slope), per = radius > 0 ? flat / radius : 0;
  out.normal = {-f.slope * flat, across * per, toward * per};
  if (!open_.empty()) out.open = open_at(element, (axial - f.from) / (f.to - f.from));
  return out;
}

// Places further along the axis, to where the eye leans, lie in front of the others: the first met is seen.
std::optional<Sight> Solid::front(const Eye& eye, double right, double up) const {
  if (std::abs(right) > widest_) return {};
  const double middle = frusta_.back().to / 2;
  const Ray ray{middle + up * eye.to.toward, -right, -up * eye.to.along, eye.to};
  const auto [first, last] = reached(ray);
  for (size_t i = first; i <= last; ++i) {
    const size_t element = eye.to.along >= 0 ? first + last - i : i;
    const auto reach = element % 2 == 0 ? meet_face(element / 2, ray) : meet(frusta_[element / 2], ray);
    if (reach) return sight(element, ray, *reach);
  }
  return {};
}

// Elements that the ray passes while it is within the widest of them.
std::pair<size_t, size_t> Solid::reached(const Ray& ray) const {
  size_t first = 0, last = 2 * frusta_.size();
  if (ray.to.toward < 1e-6) return {first, last};
  const double half = std::sqrt(std::max(widest_ * widest_ - ray.across * ray.across, 0.0));
  const double middle = ray.axial - ray.toward / ray.to.toward * ray.to.along;
  const double off = half / ray.to.toward * std::abs(ray.to.along) + 1e-9 * frusta_.back().to;
  const auto at = [&](double axial) {
    const auto after = std::upper_bound(frusta_.begin(), frusta_.end(), axial,
                                        [](double u, const Frustum& f) { return u < f.from; });
    return size_t(std::max<std::ptrdiff_t>(after - frusta_.begin() - 1, 0));
  };
  return {2 * at(middle - off), std::min(2 * at(middle + off) + 2, last)};
}

bool Solid::hidden(const Ray& ray) const {
  const double least = 1e-7 * frusta_.back().to;
  for (const Frustum& each : frusta_) {
    const auto reach = meet(each, ray);
    if (reach && *reach > least) return true;
  }
  for (size_t face = 0; face <= frusta_.size(); ++face) {
    const auto reach = meet_face(face, ray);
    if (reach && *reach > least) return true;
  }
  return false;
}

// Share of an even sky that is seen, each direction by its cosine: so are they spread.
double Solid::opening(size_t element, double share, int directions) const {
  Ray ray{0, 0, 0, {}};
  Direction normal;
  if (element % 2 == 0) {
    const size_t face = element / 2;
    ray.axial = face < frusta_.size() ? frusta_[face].from : frusta_.back().to;
    ray.toward = inner(face) + share * (outer(face) - inner(face));
    normal = {outward(face) ? 1.0 : -1.0, 0, 0};
  } else {
    const Frustum& f = frusta_[element / 2];
    const double flat = 1 / std::sqrt(1 + f.slope * f.slope);
    ray.axial = f.from + share * (f.to - f.from);
    ray.toward = f.radius + f.slope * (ray.axial - f.from);
    normal = {-f.slope * flat, 0, flat};
  }
  const double off = 1e-6 * frusta_.back().to;
  ray.axial += off * normal.along;
  ray.toward += off * normal.toward;
  int seen = 0;
  for (int i = 0; i < directions; ++i) {
    const double out = std::sqrt((i + 0.5) / directions), turn = i * 2.399963229728653;  // golden angle
    const double up = std::sqrt(1 - out * out), aside = out * std::cos(turn);
    ray.to = {up * normal.along - aside * normal.toward, out * std::sin(turn),
              up * normal.toward + aside * normal.along};
    seen += !hidden(ray);
  }
  return double(seen) / directions;
}

double Solid::open_at(size_t element, double share) const {
  const double at = std::acos(std::clamp(1 - 2 * share, -1.0, 1.0)) / quantity::kPi * (places_ - 1);
  const int low = std::min(int(at), places_ - 2);
  const float* const open = &open_[element * size_t(places_) + size_t(low)];
  return open[0] + (at - low) * (open[1] - open[0]);
}

void Solid::open_up() {
  bool hollow = false;  // somewhere the outline turns inward
  for (size_t i = 1; i < frusta_.size(); ++i)
    hollow |=
        std::abs(frusta_[i - 1].end() - frusta_[i].radius) > 1e-9 || frusta_[i].slope > frusta_[i - 1].slope;
  if (!hollow) return;
  const int elements = int(2 * frusta_.size() + 1);
  places_ = std::clamp(600 / elements, 2, kPlaces);
  const int directions =
      int(std::clamp(kSky / (double(elements) * elements * places_), 16.0, double(kDirections)));
  open_.assign(size_t(elements) * size_t(places_), 1);
  quantity::for_bands({.count = elements, .band = 1}, [&](int first, int last, int) {
    for (int element = first; element < last; ++element)
      for (int i = 0; i < places_; ++i)
        open_[size_t(element) * size_t(places_) + size_t(i)] =
            float(opening(size_t(element), share_at(i, places_), directions));
  });
}

}  // namespace circumfluence::look

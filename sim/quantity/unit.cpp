#include "quantity/unit.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <numbers>
#include <optional>
#include <span>

#include "quantity/error.h"

namespace circumfluence::quantity {
namespace {

struct Symbol {
  std::string_view text;
  double factor;
  Dimension dimension;
  bool prefixed;
  double offset = 0.0;
};

constexpr double kPi = std::numbers::pi;
constexpr double kWrittenOut = 1e9;  // below it no powers of ten are written for large numbers

// metre, kilogram, second, kelvin, radian
constexpr Symbol kSymbols[] = {
    {"m", 1, {1, 0, 0, 0, 0}, true},
    {"g", 1e-3, {0, 1, 0, 0, 0}, true},
    {"s", 1, {0, 0, 1, 0, 0}, true},
    {"K", 1, {0, 0, 0, 1, 0}, false},
    {"rad", 1, {0, 0, 0, 0, 1}, true},
    {"W", 1, {2, 1, -3, 0, 0}, true},
    {"J", 1, {2, 1, -2, 0, 0}, true},
    {"Pa", 1, {-1, 1, -2, 0, 0}, true},
    {"Hz", 1, {0, 0, -1, 0, 0}, true},
    {"min", 60, {0, 0, 1, 0, 0}, false},
    {"h", 3600, {0, 0, 1, 0, 0}, false},
    {"in", 25.4e-3, {1, 0, 0, 0, 0}, false},
    {"deg", kPi / 180, {0, 0, 0, 0, 1}, false},
    {"°", kPi / 180, {0, 0, 0, 0, 1}, false},
    {"rev", 2 * kPi, {0, 0, 0, 0, 1}, false},
    {"degC", 1, {0, 0, 0, 1, 0}, false, 273.15},
    {"°C", 1, {0, 0, 0, 1, 0}, false, 273.15},
    {"%", 0.01, {0, 0, 0, 0, 0}, false},
    {"1", 1, {0, 0, 0, 0, 0}, false},
    {"lines", 1, {0, 0, 0, 0, 0}, false},
};

struct Prefix {
  std::string_view text;
  double factor;
};

constexpr Prefix kPrefixes[] = {{"p", 1e-12}, {"n", 1e-9}, {"u", 1e-6}, {"µ", 1e-6}, {"μ", 1e-6}, {"m", 1e-3},
                                {"c", 1e-2},  {"d", 1e-1}, {"k", 1e3},  {"M", 1e6},  {"G", 1e9}};

struct Named {
  const char* name;
  Dimension dimension;
};

constexpr Named kNames[] = {
    {"a length", {1, 0, 0, 0, 0}},
    {"an area", {2, 0, 0, 0, 0}},
    {"a volume", {3, 0, 0, 0, 0}},
    {"a mass", {0, 1, 0, 0, 0}},
    {"a time", {0, 0, 1, 0, 0}},
    {"a temperature", {0, 0, 0, 1, 0}},
    {"an angle", {0, 0, 0, 0, 1}},
    {"a speed", {1, 0, -1, 0, 0}},
    {"an angular speed", {0, 0, -1, 0, 1}},
    {"an acceleration", {1, 0, -2, 0, 0}},
    {"a frequency", {0, 0, -1, 0, 0}},
    {"a power", {2, 1, -3, 0, 0}},
    {"an energy", {2, 1, -2, 0, 0}},
    {"an energy per length", {1, 1, -2, 0, 0}},
    {"an energy per area", {0, 1, -2, 0, 0}},
    {"an energy per volume", {-1, 1, -2, 0, 0}},
    {"an irradiance", {0, 1, -3, 0, 0}},
    {"a density", {-3, 1, 0, 0, 0}},
    {"a heat capacity", {2, 0, -2, -1, 0}},
    {"a specific energy", {2, 0, -2, 0, 0}},
    {"a thermal conductivity", {1, 1, -3, -1, 0}},
    {"a conductivity slope", {1, 1, -3, -2, 0}},
    {"a diffusivity", {2, 0, -1, 0, 0}},
    {"a number per length", {-1, 0, 0, 0, 0}},
    {"a ratio", {0, 0, 0, 0, 0}},
};

std::optional<Unit> find_symbol(std::string_view token) {
  for (const Symbol& s : kSymbols)
    if (s.text == token) return Unit{s.factor, s.offset, s.dimension};
  for (const Prefix& p : kPrefixes)
    if (token.size() > p.text.size() && token.starts_with(p.text))
      for (const Symbol& s : kSymbols)
        if (s.prefixed && s.text == token.substr(p.text.size()))
          return Unit{p.factor * s.factor, 0.0, s.dimension};
  return std::nullopt;
}

bool eat(std::string_view& text, std::string_view token) {
  if (!text.starts_with(token)) return false;
  text.remove_prefix(token.size());
  return true;
}

// The power after a symbol: "^2", "^-1", "²", "³"; 1 when there is none.
int eat_power(std::string_view& text, std::string_view whole) {
  if (eat(text, "²")) return 2;
  if (eat(text, "³")) return 3;
  if (!eat(text, "^")) return 1;
  int power = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), power);
  if (problem != std::errc() || std::abs(power) > 9)
    throw JobError(fmt::format("\"{}\" (the power after ^ must be a whole number from -9 to 9)", whole));
  text.remove_prefix(end - text.data());
  return power;
}

std::string_view eat_symbol(std::string_view& text) {
  size_t n = 0;
  while (n < text.size() && std::string_view(" */()^").find(text[n]) == std::string_view::npos &&
         !text.substr(n).starts_with("²") && !text.substr(n).starts_with("³") &&
         !text.substr(n).starts_with("·"))
    ++n;
  const std::string_view symbol = text.substr(0, n);
  text.remove_prefix(n);
  return symbol;
}

void multiply(Unit& product, const Unit& factor, int power) {
  product.factor *= std::pow(factor.factor, power);
  for (size_t i = 0; i < product.dimension.size(); ++i) product.dimension[i] += power * factor.dimension[i];
}

}  // namespace

Unit parse_unit(std::string_view unit) {
  Unit product;
  std::string_view rest = unit;
  int sign = 1;
  bool bracket = false;
  while (!rest.empty()) {
    if (eat(rest, " ") || eat(rest, "*") || eat(rest, "·")) continue;
    if (eat(rest, "/")) {
      sign = -1;
      continue;
    }
    if (eat(rest, "(")) {
      bracket = true;
      continue;
    }
    if (eat(rest, ")")) {
      bracket = false;
      sign = 1;
      continue;
    }
    const std::string_view token = eat_symbol(rest);
    const std::optional<Unit> symbol = find_symbol(token);
    if (!symbol) throw JobError(fmt::format("unknown unit \"{}\"", token.empty() ? rest : token));
    const int power = eat_power(rest, unit);
    if (symbol->offset != 0.0 && token == unit) product.offset = symbol->offset;
    multiply(product, *symbol, sign * power);
    if (!bracket) sign = 1;
  }
  return product;
}

std::string name_of(const Dimension& dimension) {
  for (const Named& n : kNames)
    if (n.dimension == dimension) return n.name;
  static constexpr const char* kBase[] = {"m", "kg", "s", "K", "rad"};
  std::string out = "a quantity in";
  for (size_t i = 0; i < dimension.size(); ++i)
    if (dimension[i] != 0)
      out += dimension[i] == 1 ? fmt::format(" {}", kBase[i]) : fmt::format(" {}^{}", kBase[i], dimension[i]);
  return out;
}

double parse_quantity(std::string_view text, std::string_view like) {
  const Unit expected = parse_unit(like);
  const std::string wanted =
      fmt::format("expected {} such as \"{} {}\"", name_of(expected.dimension), 1, like);
  std::string_view rest = text;
  while (eat(rest, " ")) {
  }
  eat(rest, "+");
  double number = 0.0;
  const auto [end, problem] = std::from_chars(rest.data(), rest.data() + rest.size(), number);
  if (problem != std::errc() || !std::isfinite(number))
    throw JobError(fmt::format("\"{}\" (no finite number; {})", text, wanted));
  rest.remove_prefix(end - rest.data());
  while (eat(rest, " ")) {
  }
  while (rest.ends_with(' ')) rest.remove_suffix(1);
  if (rest.empty() && like != "1")
    throw JobError(fmt::format("\"{}\" (a number without a unit; {})", text, wanted));
  Unit unit;
  try {
    unit = parse_unit(rest);
  } catch (const JobError& error) {
    throw JobError(fmt::format("\"{}\" ({}; {})", text, error.problem(), wanted));
  }
  if (unit.dimension != expected.dimension)
    throw JobError(fmt::format("\"{}\" ({}; {})", text, name_of(unit.dimension), wanted));
  const double si = number * unit.factor + unit.offset;
  if (!std::isfinite(si)) throw JobError(fmt::format("\"{}\" (not finite; {})", text, wanted));
  return si;
}

double in_unit(double si, std::string_view unit) {
  const Unit u = parse_unit(unit);
  const double whole = std::round(1.0 / u.factor);  // 5e-6 m is 5 um, not 5.000000000000001: 1e-6 is not exact, 1e6 is
  return whole > 1.0 && std::abs(whole * u.factor - 1.0) < 1e-12 ? (si - u.offset) * whole : (si - u.offset) / u.factor;
}

std::string format(double si, std::string_view unit, int digits) {
  const double value = in_unit(si, unit);
  std::string number = fmt::format("{:.{}g}", value, digits);
  if (std::abs(value) < kWrittenOut && number.find("e+") != std::string::npos) {
    double rounded = value;
    std::from_chars(number.data(), number.data() + number.size(), rounded);
    number = fmt::format("{:.0f}", rounded);
  }
  return unit.empty() || unit == "1" ? number : fmt::format("{} {}", number, unit);
}

}  // namespace circumfluence::quantity

// Records and job as a fit leaves them.
#include "calibration/fitted.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "job/job_file.h"
#include "job/material_file.h"
#include "quantity/error.h"
#include "quantity/unit.h"

namespace circumfluence::calibration {
namespace {

using quantity::ValidityError;
using window::Unknown;
using workpiece::Material;
using Of = Unknown::Of;

constexpr int kDigits = 9;  // as figures and correlations are written

// As many figures as asked for, more where they would leave a power of ten: "1674 K".
std::string plain(double si, const char* unit, int digits) {
  std::string out = quantity::format(si, unit, digits);
  while (out.find("e+") != std::string::npos && digits < kDigits) out = quantity::format(si, unit, ++digits);
  return out;
}

// "80 um +- 10 %", "0 mm +- 0.3 mm"
std::string told(const Unknown& u, double value, double spread) {
  return fmt::format("{} +- {}", plain(value, u.unit, 3), plain(spread, u.relative ? "%" : u.unit, 2));
}

std::string source_of(const mark::Scene& scene, const Report& report, bool power) {
  const beam::Laser& laser = scene.job.laser;
  return fmt::format("coupon of {} ({}): {} patches, with {} at {}{}",
                     report.date.empty() ? "no date" : report.date,
                     report.origin.empty() ? "no file" : report.origin, report.results.size(),
                     quantity::format(laser.rated_power, "W"), quantity::format(laser.wavelength, "nm"),
                     power ? "; power that arrives is in it" : "");
}

quantity::Figure& figure_of(mark::Scene& scene, const Unknown& u) {
  Material& material = u.of == Of::coat ? *scene.coat : scene.base;
  if (u.figure) return material.*u.figure;
  const auto index =
      size_t(&workpiece::optics_at(material, scene.job.laser.wavelength) - material.optics.data());
  return material.optics[index].*u.optic;
}

double* spread_of(job::Job& job, Of of) {
  switch (of) {
    case Of::spot:
      return &job.laser.spot_spread;
    case Of::shape:
      return &job.laser.shape_spread;
    case Of::depth:
      return &job.laser.depth_spread;
    case Of::coat_thickness:
      return &job.workpiece.coat_spread;
    case Of::height:
      return &job.mount.height_spread;
    default:
      return nullptr;
  }
}

// The scene at the new medians; its picture and art as they were.
mark::Scene moved(const mark::Scene& scene, const Posterior& found) {
  std::vector<Unknown> lognormal;
  std::vector<double> deviates;
  mark::Scene out = scene;
  for (size_t i = 0; i < found.before.size(); ++i) {
    const Unknown& u = found.before[i];
    if (u.of == Of::height) {
      // The surface stands lower by as much as the waist stands higher: beam/caustic.h, mark::Stand.
      out.job.laser.waist_offset_axial += found.shift[i], out.job.laser.waist_offset_around += found.shift[i];
      continue;
    }
    lognormal.push_back(u);
    lognormal.back().spread = 1;  // so that a deviate is a shift of ln
    deviates.push_back(found.shift[i]);
  }
  mark::Scene drawn = window::drawn(out, lognormal, deviates);
  out.job.laser = drawn.job.laser;
  out.job.workpiece = drawn.job.workpiece;
  out.base = std::move(drawn.base), out.coat = std::move(drawn.coat);
  return out;
}

void set_spreads(mark::Scene& scene, const Posterior& found, const Report& report) {
  for (size_t i = 0; i < found.before.size(); ++i) {
    const Unknown& u = found.before[i];
    if (double* const spread = spread_of(scene.job, u.of)) {
      *spread = found.spread[i];
      continue;
    }
    quantity::Figure& figure = figure_of(scene, u);
    figure.spread = found.spread[i];
    figure.source = source_of(scene, report, found.power.has_value());
  }
  if (found.power) scene.job.laser.power_spread = quantity::kUnset;
}

bool touches(const Posterior& found, Of of) {
  return std::ranges::any_of(found.before, [of](const Unknown& u) { return u.of == of; });
}

// The figure before, found by what it is: records have new names.
size_t before_of(const Posterior& found, const Unknown& now) {
  const auto same = [&now](const Unknown& u) {
    return u.of == now.of && u.figure == now.figure && u.optic == now.optic;
  };
  return size_t(std::ranges::find_if(found.before, same) - found.before.begin());
}

// What was settled together, of those of the job and of `records`.
std::vector<workpiece::Settled> settled(const mark::Scene& scene, const Posterior& found,
                                        std::initializer_list<Of> records) {
  std::vector<workpiece::Settled> out;
  std::vector<Eigen::Index> of;
  for (const Unknown& now : window::unknowns(scene)) {
    const size_t i = before_of(found, now);
    const bool record = now.of == Of::coat || now.of == Of::base;
    if (i == found.before.size() || (record && std::ranges::find(records, now.of) == records.end())) continue;
    workpiece::Settled& entry = out.emplace_back();
    entry.name = now.name;
    entry.value = quantity::format(now.value, now.unit, kDigits);
    entry.spread = quantity::format(now.spread, now.relative ? "%" : now.unit, kDigits);
    for (const Eigen::Index before : of)
      entry.correlations.push_back(
          std::stod(fmt::format("{:.{}f}", found.correlations(Eigen::Index(i), before), kDigits)));
    of.push_back(Eigen::Index(i));
  }
  if (out.size() < 2) out.clear();
  return out;
}

void rename(Material& material, const std::string& name, const Report& report) {
  material.title += report.date.empty() ? ", by coupon" : ", by coupon of " + report.date;
  material.name = name;
  material.origin.clear();
  material.settled.clear();
}

void refuse_built_in(const std::string& name) {
  for (const Material& material : job::built_in_materials())
    if (material.name == name)
      throw ValidityError(fmt::format(
          "record {} (the name of a built-in one; expected a name of its own, such as {}_mine)", name, name));
}

// Names the records, and what they settled; the coat's first. Figures of the job alone still need one to hold
// what they have to do with each other.
std::vector<Material> records_of(mark::Scene& scene, const Posterior& found, const Report& report,
                                 const std::string& name) {
  const std::string base_name = scene.coat ? name + "_base" : name;
  const bool several = found.before.size() > 1;
  const bool coat = scene.coat && (touches(found, Of::coat) || several);
  const bool base = touches(found, Of::base) || (!scene.coat && several);
  for (const std::string& own : {name, base_name}) refuse_built_in(own);
  if (coat) rename(*scene.coat, name, report), scene.job.workpiece.coat = name;
  if (base) rename(scene.base, base_name, report), scene.job.workpiece.base = base_name;
  std::vector<Material> out;
  if (coat) {
    scene.coat->settled = settled(scene, found, {Of::coat, Of::base});
    out.push_back(*scene.coat);
  }
  if (base) {
    scene.base.settled = settled(scene, found, {Of::base});
    out.push_back(scene.base);
  }
  for (const Material& record : out) job::check(record);
  return out;
}

std::vector<std::string> changes_of(const mark::Scene& scene, const Posterior& found) {
  std::vector<std::string> out;
  if (found.power)
    out.push_back(
        fmt::format("laser.power_spread: taken out, the records hold for this laser's own watts ({:.3g} of "
                    "what is stated "
                    "arrives, {:.3g} to {:.3g})",
                    found.power->middle, found.power->low, found.power->high));
  for (const Unknown& now : window::unknowns(scene)) {
    const size_t i = before_of(found, now);
    if (i == found.before.size()) continue;
    const Unknown& was = found.before[i];
    std::string line = fmt::format("{}: {} -> {}", now.name, told(was, was.value, was.spread),
                                   told(now, now.value, now.spread));
    if (now.of == Of::height)
      line += fmt::format(", waists {} higher; holds while the focus is not set anew",
                          quantity::format(found.shift[i], "mm", 2));
    const double wanted = was.value * std::exp(found.shift[i]);
    if (was.relative && now.of != Of::depth && std::abs(std::log(now.value / wanted)) > 1e-3)
      line += fmt::format(
          " (the coupon asks for {}, which cannot be: the laser gives more than is stated, or another figure "
          "is "
          "further off than its spread says)",
          plain(wanted, was.unit, 3));
    out.push_back(std::move(line));
  }
  return out;
}

}  // namespace

mark::Scene Fitted::scene() const {
  job::Job whole = job;
  whole.materials.insert(whole.materials.begin(), records.begin(), records.end());
  return mark::prepare(job::completed(whole));
}

Fitted fitted(const mark::Scene& scene, const Fit& fit, const Report& report, const std::string& name) {
  if (!std::isfinite(fit.strays))
    throw ValidityError(
        fmt::format("record {} (results are at odds with each other or with what is on record, and nothing "
                    "was learnt; expected a fit "
                    "that learnt something). Look again at the patches that it names",
                    name));
  const Posterior found = posterior(scene, fit);
  mark::Scene now = moved(with_threshold(scene), found);
  set_spreads(now, found, report);
  Fitted out;
  out.records = records_of(now, found, report, name);
  out.changes = changes_of(now, found);
  out.job = std::move(now.job);
  const auto replaced = [&out](const Material& m) {
    return std::ranges::any_of(out.records, [&m](const Material& record) { return record.name == m.name; });
  };
  std::erase_if(out.job.materials, replaced);
  out.job.name.clear();
  out.job.text = job::write_job(out.job);
  job::Job whole = out.job;
  whole.materials.insert(whole.materials.begin(), out.records.begin(), out.records.end());
  job::check(whole);
  return out;
}

}  // namespace circumfluence::calibration

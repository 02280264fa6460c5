#include "heat/enthalpy.h"

#include <algorithm>
#include <cmath>

#include "quantity/bands.h"
#include "quantity/error.h"

namespace circumfluence::heat {
namespace {

constexpr int kLane = 8;
constexpr long kWorthAThread = 20000;  // cells

// Gathers what the run leaves behind.
class Record {
 public:
  Record(const EnthalpyField& f, EnthalpyResult& out) : f_(f), out_(out) {
    const EnthalpyMesh& m = f.mesh;
    out.x = m.x, out.y = m.y, out.z = m.z;
    out.cells = long(m.nx) * m.ny * m.nz;
    while (m.layer[out.base] != m.layer[m.nz - 1]) ++out.base;
    middle_ = nearest(m.x, f.patch.length / 2);
    out.peak.assign(size_t(m.nx) * m.ny, f.run.start);
    out.peak_below.assign(m.nz, f.run.start);
    out.cycle.resize(f.run.probes.size());
    melted_down_.assign(m.nz, 0);
    melted_across_.assign(m.ny, 0);
    for (const Point& p : f.run.probes) place(p);
  }

  void step() {
    const EnthalpyMesh& m = f_.mesh;
    for (int iy = 0; iy < m.ny; ++iy)
      for (int ix = 0; ix < m.nx; ++ix) {
        double& peak = out_.peak[size_t(iy) * m.nx + ix];
        peak = std::max(peak, f_.run.start + surface_rise(f_, iy, ix));
      }
    for (int iz = 0; iz < m.nz; ++iz) {
      const bool gone = iz < f_.top[middle_];
      const double now = gone ? f_.laws[m.layer[iz]].cap : rise(iz, 0, middle_);
      out_.peak_below[iz] = std::max(out_.peak_below[iz], f_.run.start + now);
      melted_down_[iz] = std::max(melted_down_[iz], melted(iz, 0));
    }
    for (int iy = 0; iy < m.ny; ++iy)
      melted_across_[iy] = std::max(melted_across_[iy], melted(out_.base, iy));
    out_.time.push_back(f_.time);
    for (size_t i = 0; i < places_.size(); ++i) {
      const auto [iz, iy, ix] = places_[i];
      out_.cycle[i].push_back(f_.run.start + (iz < 0 ? surface_rise(f_, iy, ix) : rise(iz, iy, ix)));
    }
    ++out_.steps;
    out_.stages += f_.stages;
  }

  void close() {
    const EnthalpyMesh& m = f_.mesh;
    for (int iz = out_.base; iz < m.nz; ++iz) out_.melted_depth += melted_down_[iz] * m.dz[iz];
    for (int iy = 0; iy < m.ny; ++iy) out_.melted_width += 2 * melted_across_[iy] * m.dy[iy];
    out_.removed.assign(out_.peak.size(), 0);
    for (size_t i = 0; i < out_.removed.size(); ++i)
      for (int iz = 0; iz < f_.top[i]; ++iz) out_.removed[i] += m.dz[iz];
    balance();
  }

 private:
  struct Place {
    int iz, iy, ix;
  };

  static int nearest(const std::vector<double>& nodes, double at) {
    const auto closer = [&](double a, double b) { return std::abs(a - at) < std::abs(b - at); };
    return static_cast<int>(std::min_element(nodes.begin(), nodes.end(), closer) - nodes.begin());
  }

  void place(const Point& p) {
    const EnthalpyMesh& m = f_.mesh;
    const double base = m.z[out_.base] - m.dz[out_.base] / 2;
    const bool surface = std::abs(p.z - base) <= 1e-3 * m.dz[out_.base];
    places_.push_back({surface ? -1 : nearest(m.z, p.z), nearest(m.y, std::abs(p.y)), nearest(m.x, p.x)});
  }

  double enthalpy(int iz, int iy, int ix) const {
    return f_.enthalpy[kLane + (size_t(iz) * f_.mesh.ny + iy) * f_.mesh.stride + ix];
  }

  double rise(int iz, int iy, int ix) const { return f_.laws[f_.mesh.layer[iz]].rise(enthalpy(iz, iy, ix)); }

  double melted(int iz, int iy) const {
    const EnthalpyLaw& law = f_.laws[f_.mesh.layer[iz]];
    const double h = enthalpy(iz, iy, middle_);
    if (h <= law.solid) return 0;
    return h >= law.liquid ? 1 : (h - law.solid) / (law.liquid - law.solid);
  }

  void balance() {
    const EnthalpyMesh& m = f_.mesh;
    EnthalpyBalance& b = out_.balance;
    b = f_.spent;
    for (const double lost : f_.lost) b.lost += lost;
    for (int iz = 0; iz < m.nz; ++iz)
      for (int iy = 0; iy < m.ny; ++iy)
        for (int ix = 0; ix < m.nx; ++ix) b.stored += enthalpy(iz, iy, ix) * m.dx[ix] * m.dy[iy] * m.dz[iz];
    for (double* energy : {&b.absorbed, &b.stored, &b.ablated, &b.lost}) *energy *= 2;
    const double missing = b.absorbed - b.stored - b.ablated - b.lost;
    b.imbalance = b.absorbed > 0 ? missing / b.absorbed : 0;
  }

  const EnthalpyField& f_;
  EnthalpyResult& out_;
  int middle_ = 0;
  std::vector<double> melted_down_, melted_across_;
  std::vector<Place> places_;
};

class Driver {
 public:
  Driver(EnthalpyField& field, const EnthalpySteps& steps, EnthalpyResult& out)
      : f_(field), steps_(steps), record_(field, out) {
    const quantity::Bands all{.count = 1024, .band = 1, .threads = steps.threads};
    parts_ =
        out.cells < 2 * kWorthAThread ? 1 : std::min(quantity::thread_count(all), f_.mesh.nz * f_.mesh.ny);
    f_.lost.assign(parts_, 0);
  }

  void run(const quantity::Progress& progress) {
    std::barrier<> meet(parts_);
    const quantity::Bands bands{.count = parts_, .band = 1, .threads = parts_};
    begin(progress);
    quantity::for_bands(bands, [&](int part, int, int thread) { work(part, thread, progress, meet); });
    if (problem_) std::rethrow_exception(problem_);
    record_.close();
  }

 private:
  // Every part is taken by a thread of its own, since none ends before all have met.
  void work(int part, int thread, const quantity::Progress& progress, std::barrier<>& meet) {
    while (true) {
      meet.arrive_and_wait();
      if (done_) return;
      advance(f_, part, parts_, meet);
      meet.arrive_and_wait();
      if (thread == 0) finish(progress);
    }
  }

  void begin(const quantity::Progress& progress) {
    const double end = f_.run.duration + f_.run.after;
    if (progress && !progress(f_.time / end)) throw quantity::Interrupted();
    done_ = f_.time >= end * (1 - 1e-12);
    if (done_) return;
    pace(f_, steps_);
    deposit(f_);
  }

  void finish(const quantity::Progress& progress) {
    try {
      f_.now = (f_.now + f_.stages) % 2;
      f_.time += f_.step;
      ablate(f_);
      record_.step();
      begin(progress);
    } catch (...) {
      problem_ = std::current_exception();
      done_ = true;
    }
  }

  EnthalpyField& f_;
  const EnthalpySteps& steps_;
  Record record_;
  int parts_ = 1;
  bool done_ = false;
  std::exception_ptr problem_;
};

}  // namespace

EnthalpyResult solve_enthalpy(const std::vector<EnthalpyLayer>& layers, const EnthalpyPatch& patch,
                              const EnthalpyRun& run, const EnthalpySteps& steps,
                              const quantity::Progress& progress) {
  if (!(steps.travel > 0 && steps.least > 0 && steps.front > 0))
    throw quantity::ValidityError("steps = 0 (nothing would move; expected travel, least and front above 0)");
  EnthalpyField field = make_field(layers, patch, run);
  EnthalpyResult out;
  Driver(field, steps, out).run(progress);
  return out;
}

}  // namespace circumfluence::heat

// Fits: what a report says of the unknowns, what it foretells, and reports drawn for a truth.
#include "calibration/fit.h"

#include "calibration_fit.h"

namespace circumfluence::bindings {

using calibration::Coupon;
using calibration::Fit;
using calibration::Report;
using calibration::Sampling;
using calibration::Trials;

namespace {

py::array array_of(const Eigen::VectorXd& values) {
  return taken(std::vector<double>(values.begin(), values.end()));
}

py::array array_of(const Eigen::MatrixXd& values) {
  const Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor> rows = values;
  return taken(std::vector<double>(rows.data(), rows.data() + rows.size()), {rows.rows(), rows.cols()});
}

// By its place or its name.
size_t unknown_of(const Fit& fit, const py::object& which) {
  if (py::isinstance<py::str>(which)) {
    const auto name = which.cast<std::string>();
    for (size_t i = 0; i < fit.unknowns.size(); ++i)
      if (fit.unknowns[i].name == name) return i;
    throw py::key_error(fmt::format("no unknown \"{}\"", name));
  }
  if (!PyIndex_Check(which.ptr())) throw expected("unknown", "a name or a place", which);
  const auto index = which.cast<py::ssize_t>();
  if (index < 0 || size_t(index) >= fit.unknowns.size())
    throw py::index_error(fmt::format("unknown {} of {}", index, fit.unknowns.size()));
  return size_t(index);
}

void bind_sampling(py::module_& m) {
  py::class_<Sampling>(m, "Sampling", "Draws of a posterior, and how well their chains have mixed.")
      .def_readonly("rhat", &Sampling::rhat, "the worst of all unknowns; below 1.01 is good")
      .def_readonly("effective", &Sampling::effective, "independent draws that these are worth, likewise")
      .def_readonly("accepted", &Sampling::accepted, "[1] share of proposals")
      .def_property_readonly(
          "draws", [](const Sampling& s) { return array_of(s.draws); }, "[draw][unknown] deviates")
      .def("__repr__", [](const Sampling& s) {
        return fmt::format("<Sampling {} draws, R-hat {:.3f}>", s.draws.rows(), s.rhat);
      });
}

void bind_fit_type(py::module_& m) {
  py::class_<Fit, std::shared_ptr<Fit>>(
      m, "Fit", "What a report says of the unknowns, as a Gaussian of their deviates; print it for words.")
      .def_property_readonly(
          "unknowns", [](const Fit& f) { return f.unknowns; }, "as before the fit: a list of Unknown")
      .def_property_readonly(
          "best", [](const Fit& f) { return array_of(f.best); }, "[unknown] deviates")
      .def_property_readonly(
          "covariance", [](const Fit& f) { return array_of(f.covariance); }, "[unknown][unknown]")
      .def_property_readonly(
          "draws", [](const Fit& f) { return array_of(f.draws); },
          "[draw][unknown] deviates that stand for the density, each as likely; none: the Gaussian")
      .def_readonly("log_evidence", &Fit::log_evidence, "to compare fits of one report")
      .def_readonly("sampling", &Fit::sampling, "a Sampling where chains were asked for, else None")
      .def_property_readonly(
          "surprise", [](const Fit& f) { return taken(std::vector<double>(f.surprise)); },
          "by result: -ln of its chance at the best fit")
      .def_readonly("strays", &Fit::strays,
                    "times what was stated that errors had to be taken for what came out to fit; inf: "
                    "nothing fits it, and "
                    "nothing was learnt")
      .def_readonly("notes", &Fit::notes, "what can and can't be concluded")
      .def_property_readonly(
          "learnt", [](const Fit& f) { return array_of(f.learnt()); },
          "[unknown] from 0, nothing, to 1: what share of the prior's variance is gone")
      .def(
          "interval",
          [](const Fit& f, const py::object& unknown) {
            return tuple_of(f.interval(unknown_of(f, unknown)));
          },
          py::arg("unknown"), "[SI] the 5th, 50th and 95th percentile, of a name or a place")
      .def_property_readonly("identifiability", &calibration::identifiability, "what is told apart, in words")
      .def(
          "to_dict", [](const Fit& f) { return loaded(calibration::json(f)); },
          "The figures of the program's JSON, SI.")
      .def("__str__", [](const Fit& f) { return calibration::text(f); })
      .def("__repr__", [](const Fit& f) {
        return fmt::format("<Fit of {} unknowns to {} results>", f.unknowns.size(), f.surprise.size());
      });
}

std::shared_ptr<Fit> fit(const py::object& job, const Coupon& coupon, const Report& report,
                         const py::kwargs& kwargs) {
  Keywords given("fit", stated(kwargs));
  const bool ready = py::isinstance<Trials>(job);
  const SharedScene scene = ready ? nullptr : scene_of(job);
  const Trials* trials = ready ? &job.cast<const Trials&>() : nullptr;  // which the caller keeps
  const FitAsked asked = take_fit(given);
  given.done();
  const py::gil_scoped_release free;
  return std::make_shared<Fit>(trials ? calibration::fit(*trials, coupon, report, asked.request)
                                      : calibration::fit(*scene, coupon, report, asked.request));
}

py::dict forecast(const py::object& job, const Fit& fit, const py::object& setting, int draws) {
  const SharedScene scene = scene_of(job);
  const calibration::Patch patch = patch_of(setting);
  calibration::Forecast found{};
  {
    const py::gil_scoped_release free;
    found = calibration::forecast(*scene, fit, patch, draws);
  }
  py::dict out, chances;
  for (int i = 0; i < 4; ++i) chances[response::kOutcomeNames[i]] = found.chances[size_t(i)];
  out["chances"] = chances;
  out["begins"] = tuple_of(found.begins), out["marks"] = tuple_of(found.marks),
  out["burns"] = tuple_of(found.burns);
  return out;
}

std::vector<double> deviates_of(const py::object& given, const Trials& trials) {
  if (given.is_none()) return std::vector<double>(trials.unknowns().size(), 0.0);
  std::vector<double> out = values_of("deviates", given, "1").values;
  if (out.size() != trials.unknowns().size())
    throw py::value_error(fmt::format("deviates: {} of them (expected {}, one an unknown)", out.size(),
                                      trials.unknowns().size()));
  return out;
}

py::dict ends(const Trials& trials, const py::object& given) {
  const std::vector<double> deviates = deviates_of(given, trials);
  std::vector<calibration::LogEnds> found;
  {
    const py::gil_scoped_release free;
    found = trials.ends(deviates);
  }
  py::dict out;
  const auto put = [&](const char* name, double calibration::LogEnds::*at) {
    std::vector<double> powers;
    for (const calibration::LogEnds& e : found)
      powers.push_back(e.*at > 600 ? quantity::kInfinity : std::exp(e.*at));
    out[name] = taken(std::move(powers));
  };
  put("begins", &calibration::LogEnds::begins);
  put("marks", &calibration::LogEnds::marks);
  put("burns", &calibration::LogEnds::burns);
  return out;
}

template <std::vector<double> (Trials::*get)(std::span<const double>) const>
py::array by_patch(const Trials& trials, const py::object& given) {
  const std::vector<double> deviates = deviates_of(given, trials);
  std::vector<double> out;
  {
    const py::gil_scoped_release free;
    out = (trials.*get)(deviates);
  }
  return taken(std::move(out));
}

void bind_trials_type(py::module_& m) {
  py::class_<Trials>(m, "Trials",
                     "What the model expects of patches, given the unknowns: Trials(job, coupon), or of a "
                     "list of patches.\n\n"
                     "Deviates are standard normal, one an unknown; left out: all 0, the medians.")
      .def(py::init([](const py::object& job, const py::object& patches) {
             std::vector<calibration::Patch> all;
             if (py::isinstance<Coupon>(patches))
               for (const calibration::Slot& slot : patches.cast<const Coupon&>().slots)
                 all.push_back(slot.patch);
             else
               all = patches_of(patches);
             return std::make_unique<Trials>(calibration::with_threshold(*scene_of(job)), all);
           }),
           py::arg("job"), py::arg("patches"))
      .def_property_readonly("unknowns", &Trials::unknowns)
      .def_property_readonly("patches", &Trials::patches)
      .def("ends", &ends, py::arg("deviates") = py::none(),
           "[W] by patch, from which it begins to show, is marked, over-burns: a dict of arrays; infinity "
           "where no power "
           "does.")
      .def("widths", &by_patch<&Trials::widths>, py::arg("deviates") = py::none(),
           "[m] by patch, of a single line's mark; NaN of others.")
      .def("depths", &by_patch<&Trials::depths>, py::arg("deviates") = py::none(),
           "[m] by patch, mean depth gone; NaN of single lines.")
      .def("__len__", &Trials::count)
      .def("__repr__", [](const Trials& t) {
        return fmt::format("<Trials of {} patches, {} unknowns>", t.count(), t.unknowns().size());
      });
  m.def(
      "simulated",
      [](const Trials& trials, const Coupon& coupon, const py::object& truth, std::uint64_t seed) {
        const std::vector<double> deviates = deviates_of(truth, trials);
        const py::gil_scoped_release free;
        return calibration::simulated(trials, coupon, deviates, seed);
      },
      py::arg("trials"), py::arg("coupon"), py::kw_only(), py::arg("truth") = py::none(), py::arg("seed") = 1,
      "A report drawn at random for a truth (deviates, one an unknown): for tests and studies, never for a "
      "fit that is to "
      "be\nused.");
}

}  // namespace

FitAsked take_fit(Keywords& given) {
  FitAsked out;
  if (given.has("chains")) {
    const py::object chains = given.take("chains");
    if (py::isinstance<py::dict>(chains)) {
      Keywords each("chains", py::kwargs(py::reinterpret_borrow<py::dict>(chains)));
      calibration::Chains wanted;
      wanted.count = each.count("count", wanted.count);
      wanted.draws = each.count("draws", wanted.draws);
      if (each.has("seed")) wanted.seed = each.take("seed").cast<std::uint64_t>();
      each.done();
      out.request.chains = wanted;
    } else if (PyObject_IsTrue(chains.ptr()) == 1) {
      out.request.chains = calibration::Chains{};
    }
  }
  if (given.has("earlier")) {
    out.earlier = held<Fit, std::shared_ptr<Fit>>("earlier", given.take("earlier"));
    out.request.earlier = out.earlier.get();
  }
  out.request.stray = given.number("stray", "%", out.request.stray);
  out.request.threads = given.count("threads", out.request.threads);
  out.request.progress = take_progress(given);
  return out;
}

void bind_fit(py::module_& m) {
  bind_sampling(m);
  bind_fit_type(m);
  bind_trials_type(m);
  m.def("fit", &fit, py::arg("job"), py::arg("coupon"), py::arg("report"),
        "What a report says of the unknowns: a Fit.\n\n"
        "Keywords: chains (True, or a dict of count, draws and seed: MCMC instead of a Gaussian), earlier "
        "(the Fit of an "
        "earlier\ncoupon, whose posterior is then the prior), stray=\"6 %\" (of what a person sees, on "
        "power), threads=0, "
        "progress.\n`job` is a Job, a prepared Scene, or the coupon's Trials, to fit many "
        "reports of it. Raises ValidityError, Interrupted.");
  m.def("forecast", &forecast, py::arg("job"), py::arg("fit"), py::arg("setting"), py::arg("draws") = 256,
        "At a setting (a Patch), as the fit has it: a dict of chances [1] by outcome, and the percentiles "
        "(5th, 50th, "
        "95th) of\nthe powers [W] from which it begins, marks, burns.");
  m.def(
      "nothing_learnt",
      [](const py::object& job) {
        return std::make_shared<Fit>(calibration::nothing_learnt(*scene_of(job)));
      },
      py::arg("job"), "A Fit without results: the prior.");
  m.def(
      "fitted_unknowns", [](const py::object& job) { return calibration::fitted_unknowns(*scene_of(job)); },
      py::arg("job"),
      "What a fit settles, where the coat's threshold is a figure of its own: a list of Unknown.");
  m.def(
      "with_threshold",
      [](const py::object& job) {
        return std::make_shared<mark::Scene>(calibration::with_threshold(*scene_of(job)));
      },
      py::arg("job"),
      "The scene with its coat's threshold as one figure in place of those that it comes from.");
}

}  // namespace circumfluence::bindings

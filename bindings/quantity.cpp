// Errors, units and progress.
#include "quantity/error.h"

#include <chrono>

#include "bind.h"

namespace circumfluence::bindings {
namespace {

// The four classes live as long as the interpreter.
PyObject *job_error, *validity_error, *file_error, *interrupted;

PyObject* new_error(py::module_& m, const char* name, const char* doc, PyObject* base) {
  const std::string full = std::string("circumfluence.") + name;
  PyObject* type = PyErr_NewExceptionWithDoc(full.c_str(), doc, base, nullptr);
  m.attr(name) = py::handle(type);
  return type;
}

void set_job_error(const quantity::JobError& error) {
  const py::object made = py::reinterpret_borrow<py::object>(job_error)(error.what());
  const quantity::Place& place = error.place();
  made.attr("problem") = error.problem();
  made.attr("file") = place.file.empty() ? py::object(py::none()) : py::object(py::str(place.file));
  made.attr("line") = place.line > 0 ? py::object(py::int_(place.line)) : py::object(py::none());
  made.attr("column") = place.column > 0 ? py::object(py::int_(place.column)) : py::object(py::none());
  PyErr_SetObject(job_error, made.ptr());
}

void translate(std::exception_ptr problem) {
  try {
    if (problem) std::rethrow_exception(problem);
  } catch (const quantity::JobError& error) {
    set_job_error(error);
  } catch (const quantity::ValidityError& error) {
    PyErr_SetString(validity_error, error.what());
  } catch (const quantity::FileError& error) {
    PyErr_SetString(file_error, error.what());
  } catch (const quantity::Interrupted& error) {
    PyErr_SetString(interrupted, error.what());
  }
}

}  // namespace

quantity::Progress python_progress(const py::object& callable) {
  // Copied and dropped on threads without the GIL, hence the shared owner that takes it to let go.
  const std::shared_ptr<py::object> shared(new py::object(callable), [](py::object* held) {
    const py::gil_scoped_acquire gil;
    delete held;
  });
  return [shared, last = std::chrono::steady_clock::time_point{}](double share) mutable {
    // A look at the interpreter costs a lock; fifty a second are plenty.
    const auto now = std::chrono::steady_clock::now();
    if (share < 1 && now - last < std::chrono::milliseconds(20)) return true;
    last = now;
    const py::gil_scoped_acquire gil;
    if (PyErr_CheckSignals() != 0) throw py::error_already_set();
    if (shared->is_none()) return true;
    const py::object answer = (*shared)(share);
    return answer.is_none() || answer.cast<bool>();
  };
}

void bind_quantity(py::module_& m) {
  job_error = new_error(m, "JobError",
                        "Something in a job or a material record is missing, malformed or out of bounds.\n\n"
                        "Attributes: problem, file, line, column (None where unknown).",
                        PyExc_ValueError);
  validity_error = new_error(
      m, "ValidityError", "A model or a record is asked for something that it cannot say.", PyExc_ValueError);
  file_error = new_error(m, "FileError", "A file cannot be read, written or trusted.", PyExc_OSError);
  interrupted = new_error(m, "Interrupted", "A progress callable asked to stop; nothing was left behind.",
                          PyExc_RuntimeError);
  py::register_exception_translator(translate);

  m.def(
      "quantity", [](const py::object& value, const std::string& like) { return si(value, like.c_str()); },
      py::arg("value"), py::arg("like"),
      "SI number of a quantity such as \"2500 mm/min\".\n\n`like` is a unit of the expected dimension "
      "(\"mm/s\", "
      "\"%\", \"1\"). A number is taken as SI already.\nRaises JobError: no number, no unit, unknown unit, "
      "another "
      "dimension.");
  m.def("format", &quantity::format, py::arg("si"), py::arg("unit"), py::arg("digits") = 6,
        "An SI value in `unit`, as text: format(0.0416667, \"mm/s\") is \"41.6667 mm/s\".");
}

}  // namespace circumfluence::bindings

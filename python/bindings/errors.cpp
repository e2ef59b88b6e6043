// The exception family: each C++ kind as a subclass of mamelon.Error and of the built-in that means
// the same.

#include <map>
#include <string>

#include <pybind11/pybind11.h>

#include "mamelon/error.h"

#include "bindings.h"

namespace mamelon::python {

namespace py = pybind11;

namespace {

// The types live as long as the process, as those of built-in exceptions do.
std::map<ErrorKind, PyObject*>& types() {
  static std::map<ErrorKind, PyObject*> instance;
  return instance;
}

PyObject* make(py::module_& m, const char* name, const char* doc, const py::tuple& bases) {
  const std::string full = std::string("mamelon.") + name;
  PyObject* type = PyErr_NewExceptionWithDoc(full.c_str(), doc, bases.ptr(), nullptr);
  if (type == nullptr) throw py::error_already_set();
  m.attr(name) = py::reinterpret_borrow<py::object>(type);
  return type;
}

}  // namespace

void bind_errors(py::module_& m) {
  const auto object = [](PyObject* type) { return py::reinterpret_borrow<py::object>(type); };
  const py::object base =
      object(make(m, "Error",
                  "Base of everything the library raises. The message is one sentence: what is "
                  "wrong, where, and what would be right.",
                  py::make_tuple(object(PyExc_Exception))));
  const auto add = [&](ErrorKind kind, const char* name, PyObject* builtin, const char* doc) {
    const py::tuple bases = py::make_tuple(base);
    types()[kind] =
        make(m, name, doc,
             builtin == nullptr ? bases : py::tuple(bases + py::make_tuple(object(builtin))));
  };
  add(ErrorKind::argument, "ArgumentError", PyExc_ValueError, "Wrong use of a function or value.");
  add(ErrorKind::data, "DataError", PyExc_ValueError, "A malformed file or document.");
  add(ErrorKind::capture, "CaptureError", nullptr, "A readable photo that cannot be measured.");
  add(ErrorKind::model, "ModelError", PyExc_ArithmeticError,
      "Outside the domain of a physical model.");
  add(ErrorKind::io, "IoError", PyExc_OSError, "The system could not read or write.");
  add(ErrorKind::stopped, "StoppedError", nullptr, "The caller asked the work to stop.");
  py::register_exception_translator([](std::exception_ptr pointer) {
    try {
      if (pointer) std::rethrow_exception(pointer);
    } catch (const Error& error) {
      PyErr_SetString(types().at(error.kind()), error.what());
    }
  });
}

}  // namespace mamelon::python

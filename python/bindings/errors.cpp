// The exception family: each C++ kind as a subclass of mamelon.Error and of the built-in that means
// the same.

#include <pybind11/pybind11.h>

#include "mamelon/error.h"

#include "bindings.h"

namespace mamelon::python {

namespace py = pybind11;

namespace {

// The types live as long as the process, as those of built-in exceptions do.
struct Types {
  PyObject* base = nullptr;
  PyObject* argument = nullptr;
  PyObject* data = nullptr;
  PyObject* capture = nullptr;
  PyObject* model = nullptr;
  PyObject* io = nullptr;
  PyObject* stopped = nullptr;
};
Types& types() {
  static Types instance;
  return instance;
}

PyObject* make(py::module_& m, const char* name, const char* doc, const py::tuple& bases) {
  const std::string full = std::string("mamelon.") + name;
  PyObject* type = PyErr_NewExceptionWithDoc(full.c_str(), doc, bases.ptr(), nullptr);
  if (type == nullptr) throw py::error_already_set();
  m.attr(name) = py::reinterpret_borrow<py::object>(type);
  return type;
}

PyObject* type_of(ErrorKind kind) {
  switch (kind) {
    case ErrorKind::argument:
      return types().argument;
    case ErrorKind::data:
      return types().data;
    case ErrorKind::capture:
      return types().capture;
    case ErrorKind::model:
      return types().model;
    case ErrorKind::io:
      return types().io;
    case ErrorKind::stopped:
      return types().stopped;
  }
  return types().base;
}

}  // namespace

void bind_errors(py::module_& m) {
  const auto builtin = [](PyObject* type) { return py::reinterpret_borrow<py::object>(type); };
  Types& t = types();
  t.base = make(m, "Error",
                "Base of everything the library raises. The message is one sentence: what is "
                "wrong, where, and what would be right.",
                py::make_tuple(builtin(PyExc_Exception)));
  const py::object base = builtin(t.base);
  t.argument = make(m, "ArgumentError", "Wrong use of a function or value.",
                    py::make_tuple(base, builtin(PyExc_ValueError)));
  t.data = make(m, "DataError", "A malformed file or document.",
                py::make_tuple(base, builtin(PyExc_ValueError)));
  t.capture =
      make(m, "CaptureError", "A readable photo that cannot be measured.", py::make_tuple(base));
  t.model = make(m, "ModelError", "Outside the domain of a physical model.",
                 py::make_tuple(base, builtin(PyExc_ArithmeticError)));
  t.io = make(m, "IoError", "The system could not read or write.",
              py::make_tuple(base, builtin(PyExc_OSError)));
  t.stopped = make(m, "StoppedError", "The caller asked the work to stop.", py::make_tuple(base));
  py::register_exception_translator([](std::exception_ptr pointer) {
    try {
      if (pointer) std::rethrow_exception(pointer);
    } catch (const Error& error) {
      PyErr_SetString(type_of(error.kind()), error.what());
    }
  });
}

}  // namespace mamelon::python

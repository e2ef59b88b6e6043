// The extension module mamelon._core.

#include <string>

#include <pybind11/pybind11.h>

#include "arrays.h"
#include "bindings.h"
#include "run.h"

PYBIND11_MODULE(_core, m) {
  namespace py = pybind11;
  // The first line of every docstring is a Python signature of our own, from which the stub file is
  // made; pybind11's would name C++ types.
  py::options options;
  options.disable_function_signatures();
  m.doc() = "The library's C++ core. Import `mamelon`, which re-exports everything here.";
  m.attr("_names") = py::dict();
  mamelon::python::bind_errors(m);
  mamelon::python::bind_views(m);
  mamelon::python::bind_run(m);
  mamelon::python::bind_values(m);
  mamelon::python::bind_colour(m);
  mamelon::python::bind_difference(m);
  mamelon::python::bind_pixels(m);
  mamelon::python::bind_reading(m);
  mamelon::python::bind_formulas(m);
  mamelon::python::bind_spectra(m);
  mamelon::python::bind_capture(m);
  mamelon::python::bind_shade(m);
  mamelon::python::bind_tabs(m);
  mamelon::python::bind_material(m);
  mamelon::python::bind_drawdown(m);
  mamelon::python::bind_plan(m);
  mamelon::python::bind_case(m);
  mamelon::python::bind_files(m);
  py::list names;
  for (const py::handle name : py::module_::import("builtins").attr("dir")(m))
    if (!py::cast<std::string>(name).starts_with('_')) names.append(name);
  m.attr("__all__") = names;
}

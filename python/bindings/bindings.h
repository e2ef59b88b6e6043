#pragma once
// The parts of the extension, in the order they are bound: a layer's classes before those that use
// them.

#include <pybind11/pybind11.h>

namespace mamelon::python {

void bind_errors(pybind11::module_& m);
void bind_values(pybind11::module_& m);
void bind_colour(pybind11::module_& m);
void bind_difference(pybind11::module_& m);
void bind_pixels(pybind11::module_& m);
void bind_formulas(pybind11::module_& m);
void bind_spectra(pybind11::module_& m);
void bind_reading(pybind11::module_& m);
void bind_capture(pybind11::module_& m);
void bind_shade(pybind11::module_& m);
void bind_tabs(pybind11::module_& m);
void bind_material(pybind11::module_& m);
void bind_drawdown(pybind11::module_& m);
void bind_plan(pybind11::module_& m);
void bind_case(pybind11::module_& m);
void bind_files(pybind11::module_& m);

}  // namespace mamelon::python

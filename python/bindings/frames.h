#pragma once
// Results as data frames.

#include <pybind11/pybind11.h>

namespace mamelon::python {

// Adds `to_frame`, which `mamelon._frames` writes.
template <class Class>
void add_frame(Class& cls) {
  cls.def(
      "to_frame",
      [](const pybind11::object& self) {
        return pybind11::module_::import("mamelon._frames").attr("to_frame")(self);
      },
      R"(to_frame(self) -> Any

A pandas DataFrame with one row a tab; needs pandas.)");
}

}  // namespace mamelon::python

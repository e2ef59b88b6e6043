#pragma once
// Long loops over rows that hold no GIL and look for Ctrl-C now and then.

#include <algorithm>
#include <cstddef>

#include <pybind11/pybind11.h>

namespace mamelon::python {

// Calls body(begin, end) for slices of [0, count) without the GIL; raises KeyboardInterrupt between
// two slices after Ctrl-C. A slice should take well under half a second.
template <class Body>
void for_slices(std::size_t count, std::size_t slice, const Body& body) {
  for (std::size_t begin = 0; begin < count; begin += slice) {
    const std::size_t end = std::min(count, begin + slice);
    {
      const pybind11::gil_scoped_release release;
      body(begin, end);
    }
    if (end < count && PyErr_CheckSignals() != 0) throw pybind11::error_already_set();
  }
}

}  // namespace mamelon::python

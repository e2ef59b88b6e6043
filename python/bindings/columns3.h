#pragma once
// Colours whose L, a and b stand in three columns: (n, 3) arrays in Fortran order, as the transpose
// of a (3, n) array is. The kernels take them where they are.

#include <optional>

#include "mamelon/batch.h"

#include "arrays.h"
#include "slices.h"

namespace mamelon::python {

// The buffer of an (n, 3) array of T whose columns are contiguous; none for any other object.
template <class T>
std::optional<py::buffer_info> column_buffer(py::handle object) {
  if (!PyObject_CheckBuffer(object.ptr()) || py::hasattr(object, "mask")) return std::nullopt;
  py::buffer_info info;
  try {
    info = py::reinterpret_borrow<py::buffer>(object).request();
  } catch (const py::error_already_set&) {
    return std::nullopt;  // such as an array of dates: refused where rows are read
  }
  const bool columns = info.ndim == 2 && info.shape[1] == 3 && info.shape[0] > 1 &&
                       info.format == py::format_descriptor<T>::format() &&
                       info.strides[0] == info.itemsize &&
                       info.strides[1] >= info.shape[0] * info.itemsize;
  if (!columns) return std::nullopt;
  return info;
}

template <class T>
LabRows<T> rows_of(const py::buffer_info& info, std::size_t begin, std::size_t end) {
  const auto column = [&](py::ssize_t c) {
    const T* first = static_cast<const T*>(info.ptr) + c * info.strides[1] / info.itemsize;
    return std::span<const T>(first + begin, end - begin);
  };
  return LabRows<T>::columns(column(0), column(1), column(2));
}

// kernel(reference rows, sample rows, result) over two arrays of columns of one size and type;
// none, and nothing done, for anything else.
template <class T, class Kernel>
std::optional<py::object> map_columns(py::handle reference, py::handle sample,
                                      const Kernel& kernel) {
  const auto first = column_buffer<T>(reference);
  if (!first) return std::nullopt;
  const auto second = column_buffer<T>(sample);
  if (!second || first->shape[0] != second->shape[0]) return std::nullopt;
  const auto count = static_cast<std::size_t>(first->shape[0]);
  const py::object result =
      empty_array({count}, sizeof(T) == sizeof(float) ? "float32" : "float64");
  const py::buffer_info out = py::reinterpret_borrow<py::buffer>(result).request(true);
  constexpr std::size_t slice = std::size_t{1} << 22;
  for_slices(count, slice, [&](std::size_t begin, std::size_t end) {
    kernel(rows_of<T>(*first, begin, end), rows_of<T>(*second, begin, end),
           std::span<T>(static_cast<T*>(out.ptr) + begin, end - begin));
  });
  return result;
}

}  // namespace mamelon::python

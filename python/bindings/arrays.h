#pragma once
// Arrays in and out by the buffer protocol, so that the extension depends on no NumPy ABI.
//
// Rule of dtypes: float64 and float32 are taken as they are, without a copy when C-contiguous;
// integers and float16 are converted; anything else (objects, strings, booleans, complex) is an
// ArgumentError. A result is float32 when every array that went in was float32.

#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include <pybind11/pybind11.h>

namespace mamelon::python {

namespace py = pybind11;

using Shape = std::vector<std::size_t>;

[[nodiscard]] std::string shape_text(const Shape& shape);

// Rows of numbers that came from Python; the buffer is held as long as this lives.
struct Numbers {
  py::object array;  // C-contiguous ndarray
  std::shared_ptr<py::buffer_info> buffer;
  Shape shape;
  bool single = false;  // float32 rather than float64
  py::object mask;      // boolean array of a masked array, or none

  [[nodiscard]] std::size_t size() const;
  [[nodiscard]] const void* data() const { return buffer->ptr; }
};
[[nodiscard]] Numbers numbers(py::handle object, const std::string& where);

// The same as double precision, whatever came in.
struct Doubles {
  Numbers held;
  const double* data = nullptr;
  Shape shape;
  [[nodiscard]] std::size_t size() const { return held.size(); }
};
[[nodiscard]] Doubles doubles(py::handle object, const std::string& where);

// Whole numbers or booleans of exactly one dtype, C-contiguous; 0 in `wanted` is any size.
template <class T>
struct Integers {
  py::object array;
  std::shared_ptr<py::buffer_info> buffer;
  const T* data = nullptr;
  Shape shape;
};
[[nodiscard]] py::object array_of(py::handle object, const char* dtype, const std::string& where,
                                  const Shape& wanted);
template <class T>
[[nodiscard]] Integers<T> integers(py::handle object, const char* dtype, const std::string& where,
                                   const Shape& wanted) {
  Integers<T> result;
  result.array = array_of(object, dtype, where, wanted);
  result.buffer =
      std::make_shared<py::buffer_info>(py::reinterpret_borrow<py::buffer>(result.array).request());
  result.data = static_cast<const T*>(result.buffer->ptr);
  for (const py::ssize_t size : result.buffer->shape)
    result.shape.push_back(static_cast<std::size_t>(size));
  return result;
}

// A new array whose values are not set.
[[nodiscard]] py::object empty_array(const Shape& shape, const char* dtype);

// A read-only float64 array with a copy of the values.
[[nodiscard]] py::object copied_array(const double* values, const Shape& shape);

// A read-only array over memory that `owner` keeps alive. `format` is a struct format: d, H, ?.
[[nodiscard]] py::object viewed_array(const void* values, const char* format, std::size_t item_size,
                                      const Shape& shape, std::shared_ptr<const void> owner);
void bind_views(py::module_& m);

// One argument of a function over rows: leading axes broadcast, the last holds `width` numbers
// (0: no last axis, the argument is one number a row).
struct Rows {
  Numbers numbers;
  std::size_t width = 0;
  bool weak = false;  // does not decide the dtype of the result
  [[nodiscard]] Shape lead() const;
};
[[nodiscard]] Rows rows(py::handle object, std::size_t width, const std::string& where);
// The same with the width the array has.
[[nodiscard]] Rows rows_of_any_width(py::handle object, const std::string& where);

// Works on `count` rows: `in[k]` are contiguous rows of argument k, `out` rows of the result. Runs
// without the GIL.
using BlockKernel = std::function<void(std::size_t count, const double* const* in, double* out)>;
using SingleKernel = std::function<void(std::size_t count, const float* const* in, float* out)>;

// Broadcasts the arguments as NumPy does and fills a new array whose last axes are `tail` (empty:
// one number a row; then an input of no leading axes gives a NumPy scalar). Rows with a masked
// number are masked in the result. `single` serves float32 arguments; without it they are widened
// and the result is rounded back. Ctrl-C between blocks raises KeyboardInterrupt.
[[nodiscard]] py::object map_rows(const std::vector<Rows>& arguments, const Shape& tail,
                                  const BlockKernel& kernel, const SingleKernel& single = {});

}  // namespace mamelon::python

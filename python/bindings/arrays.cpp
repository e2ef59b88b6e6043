#include "arrays.h"

#include <algorithm>
#include <cstring>
#include <numeric>
#include <utility>

#include "mamelon/error.h"

namespace mamelon::python {

namespace {

// Memory shown to NumPy; `owner` keeps it alive.
struct View {
  const void* values;
  std::string format;
  std::size_t item_size;
  Shape shape;
  std::shared_ptr<const void> owner;
};

py::object numpy(const char* name) {
  return py::module_::import("numpy").attr(name);
}

std::size_t product(const Shape& shape) {
  return std::accumulate(shape.begin(), shape.end(), std::size_t{1}, std::multiplies<>{});
}

py::tuple to_tuple(const Shape& shape) {
  py::tuple sizes(shape.size());
  for (std::size_t i = 0; i < shape.size(); ++i) sizes[i] = shape[i];
  return sizes;
}

// The lead shape of a broadcast, or an error that names both shapes.
Shape broadcast(const Shape& a, const Shape& b) {
  Shape lead(std::max(a.size(), b.size()));
  for (std::size_t i = 0; i < lead.size(); ++i) {
    const std::size_t from_a = i < a.size() ? a[a.size() - 1 - i] : 1;
    const std::size_t from_b = i < b.size() ? b[b.size() - 1 - i] : 1;
    if (from_a != from_b && from_a != 1 && from_b != 1)
      throw ArgumentError("leading axes " + shape_text(a) + " and " + shape_text(b) +
                          " do not broadcast together");
    lead[lead.size() - 1 - i] = from_a == 1 ? from_b : from_a;
  }
  return lead;
}

// Walks the rows of one argument in the order of the broadcast result.
class Walker {
 public:
  Walker(const Rows& argument, const Shape& lead)
      : width_(std::max<std::size_t>(argument.width, 1)), lead_(lead), steps_(lead.size(), 0) {
    const Shape own = argument.lead();
    std::size_t step = width_;
    for (std::size_t i = 0; i < own.size(); ++i) {
      const std::size_t axis = own.size() - 1 - i;
      if (own[axis] != 1) steps_[lead.size() - 1 - i] = step;
      step *= own[axis];
    }
    contiguous_ = own == lead || product(own) == product(lead);
    index_.assign(lead.size(), 0);
  }

  [[nodiscard]] bool contiguous() const { return contiguous_; }
  [[nodiscard]] std::size_t width() const { return width_; }

  // Copies the next `count` rows to `target`.
  template <class From, class To>
  void gather(const From* source, std::size_t count, To* target) {
    for (std::size_t n = 0; n < count; ++n) {
      for (std::size_t k = 0; k < width_; ++k) target[k] = static_cast<To>(source[offset_ + k]);
      target += width_;
      for (std::size_t axis = lead_.size(); axis-- > 0;) {
        offset_ += steps_[axis];
        if (++index_[axis] < lead_[axis]) break;
        offset_ -= steps_[axis] * lead_[axis];
        index_[axis] = 0;
      }
    }
  }

 private:
  std::size_t width_;
  const Shape& lead_;
  std::vector<std::size_t> steps_;
  std::vector<std::size_t> index_;
  std::size_t offset_ = 0;
  bool contiguous_ = false;
};

constexpr std::size_t block_rows = 32768;
// Rows between two looks for Ctrl-C: well under half a second of the slowest kernel.
constexpr std::size_t rows_per_check = block_rows * 4;

void check_signals() {
  if (PyErr_CheckSignals() != 0) throw py::error_already_set();
}

// Runs `kernel` over all rows in blocks; arguments that are contiguous in the result's own scalar
// type are used in place.
template <class Scalar, class Kernel>
void run_blocks(const std::vector<Rows>& arguments, const Shape& lead, std::size_t out_width,
                const Kernel& kernel, Scalar* out) {
  const std::size_t total = product(lead);
  std::vector<Walker> walkers;
  std::vector<std::vector<Scalar>> buffers(arguments.size());
  std::vector<const Scalar*> in(arguments.size());
  for (std::size_t k = 0; k < arguments.size(); ++k) {
    walkers.emplace_back(arguments[k], lead);
    const bool same_scalar = arguments[k].numbers.single == (sizeof(Scalar) == sizeof(float));
    if (!(same_scalar && walkers[k].contiguous()))
      buffers[k].resize(std::min(total, block_rows) * walkers[k].width());
  }
  for (std::size_t checked = 0; checked < total; checked += rows_per_check) {
    {
      const py::gil_scoped_release release;
      const std::size_t stop = std::min(total, checked + rows_per_check);
      for (std::size_t begin = checked; begin < stop; begin += block_rows) {
        const std::size_t count = std::min(block_rows, stop - begin);
        for (std::size_t k = 0; k < arguments.size(); ++k) {
          const void* data = arguments[k].numbers.data();
          if (buffers[k].empty()) {
            in[k] = static_cast<const Scalar*>(data) + begin * walkers[k].width();
            continue;
          }
          if (arguments[k].numbers.single)
            walkers[k].gather(static_cast<const float*>(data), count, buffers[k].data());
          else
            walkers[k].gather(static_cast<const double*>(data), count, buffers[k].data());
          in[k] = buffers[k].data();
        }
        kernel(count, in.data(), out + begin * out_width);
      }
    }
    if (checked + rows_per_check < total) check_signals();
  }
}

// Which rows of the result came from a masked number, or none.
py::object merged_mask(const std::vector<Rows>& arguments, const Shape& lead, const Shape& tail) {
  py::object mask = py::none();
  for (const Rows& argument : arguments) {
    if (!argument.numbers.mask || argument.numbers.mask.is_none()) continue;
    py::object rows_masked = argument.numbers.mask;
    if (argument.width > 0) rows_masked = rows_masked.attr("any")(py::arg("axis") = -1);
    rows_masked = numpy("broadcast_to")(rows_masked, to_tuple(lead));
    mask = mask.is_none() ? rows_masked : numpy("logical_or")(mask, rows_masked);
  }
  if (mask.is_none() || tail.empty()) return mask;
  Shape full = lead;
  Shape widened = lead;
  for (const std::size_t size : tail) {
    full.push_back(size);
    widened.push_back(1);
  }
  return numpy("broadcast_to")(numpy("reshape")(mask, to_tuple(widened)), to_tuple(full));
}

}  // namespace

std::string shape_text(const Shape& shape) {
  std::string text = "(";
  for (std::size_t i = 0; i < shape.size(); ++i) text += (i ? ", " : "") + std::to_string(shape[i]);
  return text + (shape.size() == 1 ? ",)" : ")");
}

std::size_t Numbers::size() const {
  return product(shape);
}

namespace {

// The name of a column without its star, in small letters.
std::string plain_name(py::handle name) {
  std::string text;
  for (const char c : py::cast<std::string>(py::str(name))) {
    if (c != '*' && c != ' ') text += static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  }
  return text;
}

// A DataFrame is read by the names of its columns, never by their order: L, a, b, or X, Y, Z, or
// R, G, B, among others or not; or wavelengths, brought to rising order.
py::object by_column_name(py::handle frame, const std::string& where) {
  const py::list names(frame.attr("columns"));
  for (const char* wanted : {"lab", "xyz", "rgb"}) {
    py::list found;
    for (std::size_t i = 0; i < 3; ++i) {
      for (const py::handle name : names) {
        if (plain_name(name) == std::string(1, wanted[i])) found.append(name);
      }
    }
    if (found.size() == 3) return frame.attr("__getitem__")(found);
    if (found.size() > 3) throw ArgumentError(where + " has two columns of one name");
  }
  try {
    const py::object to_number = py::module_::import("builtins").attr("float");
    const py::object rising =
        py::module_::import("builtins").attr("sorted")(names, py::arg("key") = to_number);
    const auto is_wavelength = [&](py::handle name) {
      const double nm = to_number(name).cast<double>();
      return nm >= 200 && nm <= 2500;
    };
    bool all = py::len(rising) > 0;
    for (const py::handle name : rising) all = all && is_wavelength(name);
    if (all) return frame.attr("__getitem__")(rising);
  } catch (const py::error_already_set&) {  // a name that is no number
  }
  throw ArgumentError(
      where +
      " is a DataFrame and is read by the names of its columns, which must be L, a, "
      "b, or X, Y, Z, or R, G, B, or wavelengths");
}

}  // namespace

Numbers numbers(py::handle given, const std::string& where) {
  Numbers result;
  py::object array;
  const py::object object = py::hasattr(given, "columns") && py::hasattr(given, "iloc")
                                ? by_column_name(given, where)
                                : py::reinterpret_borrow<py::object>(given);
  if (PyUnicode_Check(object.ptr()) || PyBytes_Check(object.ptr()))
    throw ArgumentError(where + " must be numbers, not " +
                        py::cast<std::string>(py::type::of(object).attr("__name__")));
  try {
    if (py::hasattr(object, "filled") && py::hasattr(object, "mask")) {
      result.mask = py::module_::import("numpy.ma").attr("getmaskarray")(object);
      array = object.attr("data");
    } else {
      array = numpy("asarray")(object);
    }
  } catch (py::error_already_set& error) {
    if (!error.matches(PyExc_ValueError) && !error.matches(PyExc_TypeError)) throw;
    throw ArgumentError(where + " is not an array of numbers with equal rows");
  }
  const py::object dtype = array.attr("dtype");
  const auto kind = py::cast<std::string>(dtype.attr("kind"));
  const auto item_size = py::cast<std::size_t>(dtype.attr("itemsize"));
  const bool empty_list = py::cast<std::size_t>(array.attr("size")) == 0;
  const bool floating = kind == "f" && item_size <= sizeof(double);
  if (!floating && kind != "i" && kind != "u" && !(empty_list && kind == "f"))
    throw ArgumentError(where + " must be numbers (float64 or float32), not an array of dtype " +
                        py::cast<std::string>(py::str(dtype)));
  result.single = kind == "f" && item_size <= sizeof(float);
  result.array = numpy("ascontiguousarray")(array, result.single ? "float32" : "float64");
  // ascontiguousarray gives at least one axis; the shape is the caller's.
  for (const py::handle size : array.attr("shape"))
    result.shape.push_back(py::cast<std::size_t>(size));
  result.buffer =
      std::make_shared<py::buffer_info>(py::reinterpret_borrow<py::buffer>(result.array).request());
  return result;
}

Doubles doubles(py::handle object, const std::string& where) {
  Doubles result;
  result.held = numbers(object, where);
  if (result.held.single) {
    const Shape shape = result.held.shape;
    result.held = numbers(numpy("asarray")(result.held.array, "float64"), where);
    result.held.shape = shape;
  }
  result.data = static_cast<const double*>(result.held.data());
  result.shape = result.held.shape;
  return result;
}

py::object array_of(py::handle object, const char* dtype, const std::string& where,
                    const Shape& wanted) {
  const py::object array = numpy("asarray")(object);
  const auto found = py::cast<std::string>(py::str(array.attr("dtype")));
  if (found != dtype)
    throw ArgumentError(where + " must be an array of " + dtype + ", not " + found);
  Shape shape;
  for (const py::handle size : array.attr("shape")) shape.push_back(py::cast<std::size_t>(size));
  bool fits = shape.size() == wanted.size();
  std::string text;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    fits = fits && (wanted[i] == 0 || shape[i] == wanted[i]);
    text += (i ? ", " : "") + (wanted[i] == 0 ? std::string("n") : std::to_string(wanted[i]));
  }
  if (!fits)
    throw ArgumentError(where + " must have shape (" + text + "), not " + shape_text(shape));
  return numpy("ascontiguousarray")(array);
}

py::object empty_array(const Shape& shape, const char* dtype) {
  return numpy("empty")(to_tuple(shape), dtype);
}

py::object copied_array(const double* values, const Shape& shape) {
  const auto copy = std::make_shared<std::vector<double>>(values, values + product(shape));
  return viewed_array(copy->data(), "d", sizeof(double), shape, copy);
}

py::object viewed_array(const void* values, const char* format, std::size_t item_size,
                        const Shape& shape, std::shared_ptr<const void> owner) {
  // NumPy refuses a null pointer even for no numbers.
  static const double nothing = 0;
  return numpy("asarray")(
      py::cast(View{values ? values : &nothing, format, item_size, shape, std::move(owner)}));
}

void bind_views(py::module_& m) {
  py::class_<View>(m, "_View", py::buffer_protocol(), "Memory of a value, shown to NumPy.")
      .def_buffer([](const View& view) {
        std::vector<py::ssize_t> shape;
        std::vector<py::ssize_t> strides(view.shape.size());
        for (const std::size_t size : view.shape) shape.push_back(static_cast<py::ssize_t>(size));
        auto step = static_cast<py::ssize_t>(view.item_size);
        for (std::size_t i = shape.size(); i-- > 0;) {
          strides[i] = step;
          step *= shape[i];
        }
        return py::buffer_info(const_cast<void*>(view.values),
                               static_cast<py::ssize_t>(view.item_size), view.format,
                               static_cast<py::ssize_t>(shape.size()), shape, strides, true);
      });
}

Shape Rows::lead() const {
  return {numbers.shape.begin(), numbers.shape.end() - (width > 0 ? 1 : 0)};
}

Rows rows(py::handle object, std::size_t width, const std::string& where) {
  Rows result{numbers(object, where), width, false};
  const Shape& shape = result.numbers.shape;
  if (width > 0 && (shape.empty() || shape.back() != width))
    throw ArgumentError(where + " must have shape (…, " + std::to_string(width) + "), not " +
                        shape_text(shape));
  return result;
}

Rows rows_of_any_width(py::handle object, const std::string& where) {
  Rows result{numbers(object, where), 0, false};
  const Shape& shape = result.numbers.shape;
  if (shape.empty() || shape.back() == 0)
    throw ArgumentError(where + " must have shape (…, n), not " + shape_text(shape));
  result.width = shape.back();
  return result;
}

py::object map_rows(const std::vector<Rows>& arguments, const Shape& tail,
                    const BlockKernel& kernel, const SingleKernel& single) {
  Shape lead;
  bool all_single = true;
  for (const Rows& argument : arguments) {
    lead = broadcast(lead, argument.lead());
    all_single = all_single && (argument.numbers.single || argument.weak);
  }
  Shape shape = lead;
  shape.insert(shape.end(), tail.begin(), tail.end());
  const bool in_single = all_single && single;
  py::object result = empty_array(shape, in_single ? "float32" : "float64");
  {
    py::buffer_info out = py::reinterpret_borrow<py::buffer>(result).request(true);
    if (in_single)
      run_blocks(arguments, lead, product(tail), single, static_cast<float*>(out.ptr));
    else
      run_blocks(arguments, lead, product(tail), kernel, static_cast<double*>(out.ptr));
  }
  if (all_single && !in_single) result = result.attr("astype")("float32");
  const py::object mask = merged_mask(arguments, lead, tail);
  if (!mask.is_none())
    return py::module_::import("numpy.ma").attr("masked_array")(result, py::arg("mask") = mask);
  if (shape.empty()) return result[py::tuple()];
  return result;
}

}  // namespace mamelon::python

#pragma once
// Strict conversion of each kind of field between C++ and Python, with equality, hash, a short repr
// and the text of its Python type for the stub.

#include <array>
#include <cmath>
#include <concepts>
#include <cstdint>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <tuple>
#include <type_traits>
#include <utility>
#include <vector>

#include <pybind11/pybind11.h>

#include "mamelon/description.h"
#include "mamelon/error.h"
#include "mamelon/measured.h"

#include "arrays.h"
#include "text.h"

namespace mamelon::python {

namespace py = pybind11;

template <class T>
concept HasPlain = requires {
  Fields<T>::plain;
};

template <class M>
struct Convert;

inline std::string type_name(py::handle object) {
  return py::cast<std::string>(py::type::of(object).attr("__name__"));
}

// "a Card", "an Audit".
inline std::string one(std::string_view name) {
  return (name.find_first_of("AEIO") == 0 ? "an " : "a ") + std::string(name);
}

[[noreturn]] inline void wrong_type(const std::string& where, const std::string& wanted,
                                    py::handle got) {
  throw ArgumentError(where + " must be " + wanted + ", not " + type_name(got));
}

inline void mix(std::size_t& seed, std::size_t value) {
  seed ^= value + 0x9e3779b97f4a7c15ULL + (seed << 6U) + (seed >> 2U);
}

template <>
struct Convert<double> {
  static std::string in_type() { return "float"; }
  static std::string out_type() { return "float"; }
  static py::object to_python(double value) { return py::float_(value); }
  static double from_python(py::handle object, const std::string& where) {
    if (PyFloat_Check(object.ptr())) return PyFloat_AS_DOUBLE(object.ptr());
    const bool number = !PyBool_Check(object.ptr()) && !PyUnicode_Check(object.ptr()) &&
                        !PyBytes_Check(object.ptr()) &&
                        (PyIndex_Check(object.ptr()) || py::hasattr(object, "__float__")) &&
                        !py::hasattr(object, "__len__");
    if (!number) wrong_type(where, "a number", object);
    const double value = PyFloat_AsDouble(object.ptr());
    if (PyErr_Occurred()) {
      PyErr_Clear();
      wrong_type(where, "a number", object);
    }
    return value;
  }
  // NaN equals NaN, so that a value equals its own copy.
  static bool same(double a, double b) { return a == b || (std::isnan(a) && std::isnan(b)); }
  static std::size_t hash(double value) {
    if (std::isnan(value)) return 0x7ff8;
    return std::hash<double>{}(value == 0 ? 0.0 : value);
  }
  static std::string repr(double value) { return short_number(value); }
};

template <>
struct Convert<bool> {
  static std::string in_type() { return "bool"; }
  static std::string out_type() { return "bool"; }
  static py::object to_python(bool value) { return py::bool_(value); }
  static bool from_python(py::handle object, const std::string& where) {
    if (!PyBool_Check(object.ptr())) wrong_type(where, "True or False", object);
    return object.ptr() == Py_True;
  }
  static bool same(bool a, bool b) { return a == b; }
  static std::size_t hash(bool value) { return value ? 1 : 2; }
  static std::string repr(bool value) { return value ? "True" : "False"; }
};

template <std::integral M>
requires(!std::same_as<M, bool>) struct Convert<M> {
  static std::string in_type() { return "int"; }
  static std::string out_type() { return "int"; }
  static py::object to_python(M value) { return py::int_(value); }
  static M from_python(py::handle object, const std::string& where) {
    if (PyBool_Check(object.ptr()) || !PyIndex_Check(object.ptr()) ||
        py::hasattr(object, "__len__"))
      wrong_type(where, "a whole number", object);
    const auto index = py::reinterpret_steal<py::object>(PyNumber_Index(object.ptr()));
    if (!index) throw py::error_already_set();
    bool fits = false;
    M value{};
    if constexpr (std::is_unsigned_v<M>) {
      const unsigned long long wide = PyLong_AsUnsignedLongLong(index.ptr());
      fits = !PyErr_Occurred() && wide <= std::numeric_limits<M>::max();
      value = static_cast<M>(wide);
    } else {
      const long long wide = PyLong_AsLongLong(index.ptr());
      fits = !PyErr_Occurred() && wide >= std::numeric_limits<M>::min() &&
             wide <= std::numeric_limits<M>::max();
      value = static_cast<M>(wide);
    }
    PyErr_Clear();
    if (!fits)
      throw ArgumentError(where + " is out of range: " + py::cast<std::string>(py::str(index)));
    return value;
  }
  static bool same(M a, M b) { return a == b; }
  static std::size_t hash(M value) { return std::hash<M>{}(value); }
  static std::string repr(M value) { return std::to_string(value); }
};

template <>
struct Convert<std::string> {
  static std::string in_type() { return "str"; }
  static std::string out_type() { return "str"; }
  static py::object to_python(const std::string& value) { return py::str(value); }
  static std::string from_python(py::handle object, const std::string& where) {
    if (!PyUnicode_Check(object.ptr())) wrong_type(where, "a string", object);
    return py::cast<std::string>(object);
  }
  static bool same(const std::string& a, const std::string& b) { return a == b; }
  static std::size_t hash(const std::string& value) { return std::hash<std::string>{}(value); }
  static std::string repr(const std::string& value) { return in_quotes(value); }
};

template <HasWords E>
struct Convert<E> {
  static std::string in_type() { return "_" + std::string(Words<E>::name); }
  static std::string out_type() { return in_type(); }
  static py::object to_python(E value) { return py::str(std::string(to_string(value))); }
  static E from_python(py::handle object, const std::string& where) {
    if (!PyUnicode_Check(object.ptr()))
      wrong_type(where, "one of " + listed(Words<E>::words), object);
    try {
      return from_string<E>(py::cast<std::string>(object));
    } catch (const ArgumentError& error) {
      throw ArgumentError(where + ": " + error.what());
    }
  }
  static bool same(E a, E b) { return a == b; }
  static std::size_t hash(E value) { return static_cast<std::size_t>(value) + 17; }
  static std::string repr(E value) { return in_quotes(to_string(value)); }
};

template <class M>
struct Convert<std::optional<M>> {
  static std::string in_type() { return Convert<M>::in_type() + " | None"; }
  static std::string out_type() { return Convert<M>::out_type() + " | None"; }
  static py::object to_python(const std::optional<M>& value) {
    return value ? Convert<M>::to_python(*value) : py::none();
  }
  static std::optional<M> from_python(py::handle object, const std::string& where) {
    if (object.is_none()) return std::nullopt;
    return Convert<M>::from_python(object, where);
  }
  static bool same(const std::optional<M>& a, const std::optional<M>& b) {
    return a && b ? Convert<M>::same(*a, *b) : a.has_value() == b.has_value();
  }
  static std::size_t hash(const std::optional<M>& value) {
    return value ? Convert<M>::hash(*value) : 11;
  }
  static std::string repr(const std::optional<M>& value) {
    return value ? Convert<M>::repr(*value) : "None";
  }
};

// A value kept by pointer because it is large; None when there is none.
template <class M>
struct Convert<std::shared_ptr<const M>> {
  static std::string in_type() { return std::string(Fields<M>::name) + " | None"; }
  static std::string out_type() { return in_type(); }
  static py::object to_python(const std::shared_ptr<const M>& value) {
    return value ? py::cast(std::const_pointer_cast<M>(value)) : py::none();
  }
  static std::shared_ptr<const M> from_python(py::handle object, const std::string& where) {
    if (object.is_none()) return nullptr;
    if (!py::isinstance<M>(object)) wrong_type(where, one(Fields<M>::name) + " or None", object);
    return object.cast<std::shared_ptr<M>>();
  }
  static bool same(const std::shared_ptr<const M>& a, const std::shared_ptr<const M>& b) {
    return a == b || (a && b && Convert<M>::same(*a, *b));
  }
  static std::size_t hash(const std::shared_ptr<const M>& value) {
    return value ? Convert<M>::hash(*value) : 13;
  }
  static std::string repr(const std::shared_ptr<const M>& value) {
    return value ? Convert<M>::repr(*value) : "None";
  }
};

inline std::vector<py::object> items_of(py::handle object, const std::string& where) {
  if (PyUnicode_Check(object.ptr()) || PyBytes_Check(object.ptr()) ||
      !py::hasattr(object, "__iter__"))
    wrong_type(where, "a sequence", object);
  std::vector<py::object> items;
  for (const py::handle item : py::iter(object))
    items.push_back(py::reinterpret_borrow<py::object>(item));
  return items;
}

template <class M>
struct Convert<std::vector<M>> {
  static std::string in_type() { return "Sequence[" + Convert<M>::in_type() + "]"; }
  static std::string out_type() { return "tuple[" + Convert<M>::out_type() + ", ...]"; }
  static py::object to_python(const std::vector<M>& values) {
    py::tuple items(values.size());
    for (std::size_t i = 0; i < values.size(); ++i) items[i] = Convert<M>::to_python(values[i]);
    return items;
  }
  static std::vector<M> from_python(py::handle object, const std::string& where) {
    std::vector<M> values;
    const auto items = items_of(object, where);
    values.reserve(items.size());
    for (std::size_t i = 0; i < items.size(); ++i)
      values.push_back(Convert<M>::from_python(items[i], where + "[" + std::to_string(i) + "]"));
    return values;
  }
  static bool same(const std::vector<M>& a, const std::vector<M>& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                      [](const M& x, const M& y) { return Convert<M>::same(x, y); });
  }
  static std::size_t hash(const std::vector<M>& values) {
    std::size_t seed = values.size();
    for (const M& value : values) mix(seed, Convert<M>::hash(value));
    return seed;
  }
  static std::string repr(const std::vector<M>& values) {
    return values.empty() ? "()" : "<" + std::to_string(values.size()) + ">";
  }
};

// Rows of numbers are read-only arrays on the Python side.
template <>
struct Convert<std::vector<double>> {
  static std::string in_type() { return "ArrayLike"; }
  static std::string out_type() { return "NDArray[np.float64]"; }
  static py::object to_python(const std::vector<double>& values) {
    return copied_array(values.data(), {values.size()});
  }
  static std::vector<double> from_python(py::handle object, const std::string& where) {
    const Doubles row = doubles(object, where);
    if (row.shape.size() != 1) throw ArgumentError(where + " must be one row of numbers");
    return {row.data, row.data + row.size()};
  }
  static bool same(const std::vector<double>& a, const std::vector<double>& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), Convert<double>::same);
  }
  static std::size_t hash(const std::vector<double>& values) {
    std::size_t seed = values.size();
    for (const double value : values) mix(seed, Convert<double>::hash(value));
    return seed;
  }
  static std::string repr(const std::vector<double>& values) {
    return "<" + std::to_string(values.size()) + ">";
  }
};

// Fixed arrays of numbers: a vector of three, or a matrix where the count is a square of three.
template <std::size_t N>
struct Convert<std::array<double, N>> {
  using M = std::array<double, N>;
  static std::string in_type() { return "ArrayLike"; }
  static std::string out_type() { return "NDArray[np.float64]"; }
  static std::vector<std::size_t> shape() {
    return N == 9 ? std::vector<std::size_t>{3, 3} : std::vector<std::size_t>{N};
  }
  static py::object to_python(const M& values) { return copied_array(values.data(), shape()); }
  // For defaults, which must not wake NumPy at import.
  static py::tuple to_tuple(const M& values) {
    py::tuple items(N);
    for (std::size_t i = 0; i < N; ++i) items[i] = values[i];
    return items;
  }
  static M from_python(py::handle object, const std::string& where) {
    const Doubles row = doubles(object, where);
    if (row.shape != shape())
      throw ArgumentError(where + " must have shape " + shape_text(shape()) + ", not " +
                          shape_text(row.shape));
    M values{};
    std::copy(row.data, row.data + N, values.begin());
    return values;
  }
  static bool same(const M& a, const M& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), Convert<double>::same);
  }
  static std::size_t hash(const M& values) {
    std::size_t seed = N;
    for (const double value : values) mix(seed, Convert<double>::hash(value));
    return seed;
  }
  static std::string repr(const M& values) {
    std::string text;
    for (const double value : values) text += (text.empty() ? "" : ", ") + short_number(value);
    return "[" + text + "]";
  }
};

template <>
struct Convert<Mat3> {
  static std::string in_type() { return "ArrayLike"; }
  static std::string out_type() { return "NDArray[np.float64]"; }
  static std::array<double, 9> flat(const Mat3& m) {
    std::array<double, 9> values{};
    for (std::size_t i = 0; i < 9; ++i) values[i] = m[i / 3][i % 3];
    return values;
  }
  static py::object to_python(const Mat3& m) {
    return Convert<std::array<double, 9>>::to_python(flat(m));
  }
  static Mat3 from_python(py::handle object, const std::string& where) {
    const auto values = Convert<std::array<double, 9>>::from_python(object, where);
    Mat3 m{};
    for (std::size_t i = 0; i < 9; ++i) m[i / 3][i % 3] = values[i];
    return m;
  }
  static bool same(const Mat3& a, const Mat3& b) {
    return Convert<std::array<double, 9>>::same(flat(a), flat(b));
  }
  static std::size_t hash(const Mat3& m) { return Convert<std::array<double, 9>>::hash(flat(m)); }
  static std::string repr(const Mat3& m) {
    return m == Mat3{} ? "0" : "[" + short_number(m[0][0]) + ", …]";
  }
};

template <class M, std::size_t N>
struct Convert<std::array<M, N>> {
  static std::string in_type() { return "Sequence[" + Convert<M>::in_type() + "]"; }
  static std::string out_type() { return "tuple[" + Convert<M>::out_type() + ", ...]"; }
  static py::object to_python(const std::array<M, N>& values) {
    py::tuple items(N);
    for (std::size_t i = 0; i < N; ++i) items[i] = Convert<M>::to_python(values[i]);
    return items;
  }
  static std::array<M, N> from_python(py::handle object, const std::string& where) {
    const auto items = items_of(object, where);
    if (items.size() != N)
      throw ArgumentError(where + " must have " + std::to_string(N) + " items, not " +
                          std::to_string(items.size()));
    std::array<M, N> values{};
    for (std::size_t i = 0; i < N; ++i)
      values[i] = Convert<M>::from_python(items[i], where + "[" + std::to_string(i) + "]");
    return values;
  }
  static bool same(const std::array<M, N>& a, const std::array<M, N>& b) {
    for (std::size_t i = 0; i < N; ++i)
      if (!Convert<M>::same(a[i], b[i])) return false;
    return true;
  }
  static std::size_t hash(const std::array<M, N>& values) {
    std::size_t seed = N;
    for (const M& value : values) mix(seed, Convert<M>::hash(value));
    return seed;
  }
  static std::string repr(const std::array<M, N>&) { return "<" + std::to_string(N) + ">"; }
};

// A class that is no list of fields.
template <class T>
struct ConvertClass {
  static std::string in_type() { return Fields<T>::name; }
  static std::string out_type() { return Fields<T>::name; }
  static py::object to_python(const T& value) { return py::cast(std::make_shared<T>(value)); }
  static T from_python(py::handle object, const std::string& where) {
    if (!py::isinstance<T>(object)) wrong_type(where, one(Fields<T>::name), object);
    return object.cast<const T&>();
  }
  static bool same(const T& a, const T& b) { return a == b; }
};

// A described value type.
template <HasFields T>
struct Convert<T> {
  static std::string in_type() {
    if constexpr (HasPlain<T>) return std::string(Fields<T>::name) + " | _Numbers";
    return Fields<T>::name;
  }
  static std::string out_type() { return Fields<T>::name; }
  static py::object to_python(const T& value) { return py::cast(std::make_shared<T>(value)); }
  static T from_python(py::handle object, const std::string& where) {
    if (py::isinstance<T>(object)) return object.cast<const T&>();
    if constexpr (HasPlain<T>) {
      constexpr std::size_t count = decltype(Fields<T>::all())::size;
      const auto items = items_of(object, where);
      if (items.size() != count)
        throw ArgumentError(where + " must have " + std::to_string(count) + " numbers, not " +
                            std::to_string(items.size()));
      T value{};
      std::size_t i = 0;
      of_fields(Fields<T>::all(), [&](const auto&... f) {
        ((value.*(f.member) = Convert<ValueOf<decltype(f)>>::from_python(
              items[i], where + "[" + std::to_string(i) + "]"),
          ++i),
         ...);
      });
      return value;
    }
    wrong_type(where, one(Fields<T>::name), object);
  }
  static bool same(const T& a, const T& b) {
    return of_fields(Fields<T>::all(), [&](const auto&... f) {
      return (Convert<ValueOf<decltype(f)>>::same(a.*(f.member), b.*(f.member)) && ...);
    });
  }
  static std::size_t hash(const T& value) {
    std::size_t seed = std::hash<std::string>{}(Fields<T>::name);
    of_fields(Fields<T>::all(), [&](const auto&... f) {
      (mix(seed, Convert<ValueOf<decltype(f)>>::hash(value.*(f.member))), ...);
    });
    return seed;
  }
  static std::string repr(const T& value) {
    if constexpr (HasPlain<T>) {
      std::string text;
      of_fields(Fields<T>::all(), [&](const auto&... f) {
        ((text += (text.empty() ? "" : ", ") + short_number(value.*(f.member))), ...);
      });
      return std::string(Fields<T>::name) + "(" + text + ")";
    } else if constexpr (requires { repr_within(value); }) {
      return repr_within(value);
    } else {
      return std::string(Fields<T>::name) + "(…)";
    }
  }
};

}  // namespace mamelon::python

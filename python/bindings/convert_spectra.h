#pragma once
// Conversion of the values that are classes with laws of their own: spectra, lights, viewings.

#include "mamelon/spectrum.h"
#include "mamelon/viewing.h"

#include "convert.h"

namespace mamelon::python {

template <class Unit>
struct UnitName;
template <>
struct UnitName<unit::Reflectance> {
  static constexpr const char* name = "Reflectance";
};
template <>
struct UnitName<unit::PerMm> {
  static constexpr const char* name = "PerMm";
};
template <>
struct UnitName<unit::Power> {
  static constexpr const char* name = "Power";
};

template <class Unit>
struct Convert<Spectrum<Unit>> {
  using T = Spectrum<Unit>;
  static std::string in_type() { return UnitName<Unit>::name; }
  static std::string out_type() { return UnitName<Unit>::name; }
  static py::object to_python(const T& value) { return py::cast(std::make_shared<T>(value)); }
  static T from_python(py::handle object, const std::string& where) {
    if (!py::isinstance<T>(object))
      wrong_type(where, "a " + std::string(UnitName<Unit>::name), object);
    return object.cast<const T&>();
  }
  static bool same(const T& a, const T& b) { return a == b; }
  static std::size_t hash(const T& value) {
    std::size_t seed = Convert<std::vector<double>>::hash(value.values());
    mix(seed, Convert<double>::hash(value.grid().first_nm));
    mix(seed, Convert<double>::hash(value.grid().step_nm));
    return seed;
  }
  static std::string repr(const T& value) {
    return std::string(UnitName<Unit>::name) + "(" + short_number(value.grid().first_nm) + "–" +
           short_number(value.grid().last_nm()) + " nm step " + short_number(value.grid().step_nm) +
           ", " + std::to_string(value.size()) + " bands)";
  }
};

template <>
struct Convert<Illuminant> {
  static std::string in_type() { return "Illuminant | str"; }
  static std::string out_type() { return "Illuminant"; }
  static py::object to_python(const Illuminant& value) {
    return py::cast(std::make_shared<Illuminant>(value));
  }
  static Illuminant from_python(py::handle object, const std::string& where) {
    if (PyUnicode_Check(object.ptr())) return standard_illuminant(py::cast<std::string>(object));
    if (!py::isinstance<Illuminant>(object)) wrong_type(where, "an Illuminant or its name", object);
    return object.cast<const Illuminant&>();
  }
  static bool same(const Illuminant& a, const Illuminant& b) { return a == b; }
  static std::size_t hash(const Illuminant& value) {
    return std::hash<std::string>{}(value.name());
  }
  static std::string repr(const Illuminant& value) {
    return "Illuminant(" + in_quotes(value.name()) + ")";
  }
};

template <>
struct Convert<Viewing> {
  static std::string in_type() { return "Viewing | str"; }
  static std::string out_type() { return "Viewing"; }
  static py::object to_python(const Viewing& value) {
    return py::cast(std::make_shared<Viewing>(value));
  }
  static Viewing from_python(py::handle object, const std::string& where) {
    if (PyUnicode_Check(object.ptr())) return viewing_from_string(py::cast<std::string>(object));
    if (!py::isinstance<Viewing>(object)) wrong_type(where, "a Viewing", object);
    return object.cast<const Viewing&>();
  }
  static bool same(const Viewing& a, const Viewing& b) { return a == b; }
  static std::size_t hash(const Viewing& value) {
    return std::hash<std::string>{}(to_string(value));
  }
  static std::string repr(const Viewing& value) { return in_quotes(to_string(value)); }
};

// How some values look within another's repr; else their name alone stands there.
inline std::string repr_within(const Grid& v) {
  return "Grid(" + short_number(v.first_nm) + "–" + short_number(v.last_nm()) + " nm step " +
         short_number(v.step_nm) + ")";
}
inline std::string repr_within(const Measured<Lab>& v) {
  const Vec3 sd = v.sd();
  const auto part = [](double value, double s) {
    return short_number(value) + "±" + short_number(s);
  };
  return "[" + part(v.value.l, sd[0]) + ", " + part(v.value.a, sd[1]) + ", " +
         part(v.value.b, sd[2]) + "]";
}

}  // namespace mamelon::python

#pragma once
// Conversion of the values that are classes with laws of their own: spectra, lights, viewings.

#include "mamelon/spectrum.h"
#include "mamelon/viewing.h"

#include "convert.h"

namespace mamelon {
template <>
struct Fields<Reflectance> {
  static constexpr const char* name = "Reflectance";
};
template <>
struct Fields<PerMm> {
  static constexpr const char* name = "PerMm";
};
template <>
struct Fields<Power> {
  static constexpr const char* name = "Power";
};
template <>
struct Fields<Illuminant> {
  static constexpr const char* name = "Illuminant";
};
template <>
struct Fields<Viewing> {
  static constexpr const char* name = "Viewing";
};
}  // namespace mamelon

namespace mamelon::python {

template <class Unit>
struct Convert<Spectrum<Unit>> : ConvertClass<Spectrum<Unit>> {
  using T = Spectrum<Unit>;
  static std::size_t hash(const T& value) {
    std::size_t seed = Convert<std::vector<double>>::hash(value.values());
    mix(seed, Convert<double>::hash(value.grid().first_nm));
    mix(seed, Convert<double>::hash(value.grid().step_nm));
    return seed;
  }
  static std::string repr(const T& value) {
    return std::string(Fields<T>::name) + "(" + short_number(value.grid().first_nm) + "–" +
           short_number(value.grid().last_nm()) + " nm step " + short_number(value.grid().step_nm) +
           ", " + std::to_string(value.size()) + " bands)";
  }
};

template <>
struct Convert<Illuminant> : ConvertClass<Illuminant> {
  static std::string in_type() { return "Illuminant | str"; }
  static Illuminant from_python(py::handle object, const std::string& where) {
    if (PyUnicode_Check(object.ptr())) return standard_illuminant(py::cast<std::string>(object));
    if (!py::isinstance<Illuminant>(object)) wrong_type(where, "an Illuminant or its name", object);
    return ConvertClass<Illuminant>::from_python(object, where);
  }
  static std::size_t hash(const Illuminant& value) {
    return std::hash<std::string>{}(value.name());
  }
  static std::string repr(const Illuminant& value) {
    return "Illuminant(" + in_quotes(value.name()) + ")";
  }
};

template <>
struct Convert<Viewing> : ConvertClass<Viewing> {
  static std::string in_type() { return "Viewing | str"; }
  static Viewing from_python(py::handle object, const std::string& where) {
    if (PyUnicode_Check(object.ptr())) return viewing_from_string(py::cast<std::string>(object));
    return ConvertClass<Viewing>::from_python(object, where);
  }
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

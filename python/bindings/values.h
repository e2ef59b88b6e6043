#pragma once
// Turns the library's value types into Python classes from one table of fields a type: an immutable
// class with a keyword constructor, read-only properties, equality, hash, pickling, `replace` and a
// short repr. A type is described once, by a specialisation of Fields.

#include <algorithm>
#include <memory>
#include <string>
#include <string_view>
#include <tuple>
#include <vector>

#include <pybind11/pybind11.h>

#include "convert.h"
#include "text.h"

namespace mamelon::python {

// A field that the constructor must be given, and one with the default of the C++ struct.
template <class T, class M>
constexpr Field<T, M> needed(const char* name, M T::*member, const char* doc) {
  return {name, member, doc, true};
}
template <class T, class M>
constexpr Field<T, M> field(const char* name, M T::*member, const char* doc) {
  return {name, member, doc, false};
}

template <class T>
concept HasBlank = requires {
  { Fields<T>::blank() } -> std::convertible_to<T>;
};
template <class T>
concept HasCheck = requires(const T& value) {
  Fields<T>::check(value);
};

// The value before its fields are set; types without a default constructor say how to make one.
template <class T>
T blank() {
  if constexpr (HasBlank<T>)
    return Fields<T>::blank();
  else
    return T{};
}

template <class T, class Visitor>
void for_each_field(Visitor&& visitor) {
  std::apply([&](const auto&... fields) { (visitor(fields), ...); }, Fields<T>::all());
}

template <class T>
std::string field_names() {
  std::string names;
  for_each_field<T>(
      [&](const auto& f) { names += (names.empty() ? "" : ", ") + std::string(f.name); });
  return names;
}

// Builds a T from positional and keyword arguments on top of `value`.
template <class T>
T build(T value, const py::args& args, const py::kwargs& kwargs, bool all_needed) {
  const std::string type = Fields<T>::name;
  std::size_t position = 0;
  std::size_t taken = 0;
  for_each_field<T>([&](const auto& f) {
    using M = ValueOf<decltype(f)>;
    const std::string where = type + "." + f.name;
    const std::size_t at = position++;
    if (at < args.size()) {
      if (kwargs.contains(f.name)) throw ArgumentError(where + " is given twice");
      value.*(f.member) = Convert<M>::from_python(args[at], where);
    } else if (kwargs.contains(f.name)) {
      value.*(f.member) = Convert<M>::from_python(kwargs[f.name], where);
      ++taken;
    } else if (f.required && all_needed) {
      throw ArgumentError(type + " needs `" + f.name + "`; its fields are " + field_names<T>());
    }
  });
  if (args.size() > position)
    throw ArgumentError(type + " takes at most " + std::to_string(position) + " values, not " +
                        std::to_string(args.size()));
  if (taken < kwargs.size()) {
    for (const auto& item : kwargs) {
      const auto name = py::cast<std::string>(item.first);
      bool known = false;
      for_each_field<T>([&](const auto& f) { known = known || name == f.name; });
      if (!known)
        throw ArgumentError(type + " has no field `" + name + "`; its fields are " +
                            field_names<T>());
    }
  }
  if constexpr (HasCheck<T>) Fields<T>::check(value);
  return value;
}

template <class T>
py::tuple field_values(const T& value) {
  py::list values;
  for_each_field<T>([&](const auto& f) {
    using M = ValueOf<decltype(f)>;
    values.append(Convert<M>::to_python(value.*(f.member)));
  });
  return py::tuple(values);
}

template <class T>
std::string short_repr(const T& value) {
  std::string text = std::string(Fields<T>::name) + "(";
  bool first = true;
  bool full = false;
  for_each_field<T>([&](const auto& f) {
    if (full) return;
    using M = ValueOf<decltype(f)>;
    const std::string item = Convert<M>::repr(value.*(f.member));
    if (text.size() + item.size() > 110) {
      text += first ? "…" : ", …";
      full = true;
      return;
    }
    text += (first ? "" : ", ") + std::string(f.name) + "=" + item;
    first = false;
  });
  return text + ")";
}

// Notes the words of an enumeration for the stub file.
template <class E>
void bind_names(py::module_& m) {
  py::list words;
  for (const auto& item : Names<E>::names) words.append(item.second);
  m.attr("_names")[Names<E>::alias] = py::tuple(words);
}

template <class T>
using ValueClass = py::class_<T, std::shared_ptr<T>>;

// What every class of this module has, however it is built.
template <class T>
void bind_common(ValueClass<T>& cls) {
  cls.def("__eq__", [](const T& self, const py::object& other) -> py::object {
    if (!py::isinstance<T>(other)) return py::reinterpret_borrow<py::object>(Py_NotImplemented);
    return py::bool_(Convert<T>::same(self, other.cast<const T&>()));
  });
  cls.def("__hash__",
          [](const T& self) { return static_cast<py::ssize_t>(Convert<T>::hash(self) >> 1); });
  cls.def("__copy__", [](const py::object& self) { return self; });
  cls.def("__deepcopy__", [](const py::object& self, const py::object&) { return self; });
  cls.def("_repr_html_", [](const py::object& self) {
    return py::module_::import("mamelon._html").attr("to_html")(self);
  });
}

template <class T>
std::string constructor_signature() {
  std::string text = "(self";
  for_each_field<T>([&](const auto& f) {
    using M = ValueOf<decltype(f)>;
    text +=
        ", " + std::string(f.name) + ": " + Convert<M>::in_type() + (f.required ? "" : " = ...");
  });
  return text + ") -> None";
}

template <class T>
ValueClass<T> bind_value(py::module_& m, const char* doc) {
  ValueClass<T> cls(m, Fields<T>::name, doc);
  cls.def(py::init([](const py::args& args, const py::kwargs& kwargs) {
            return std::make_shared<T>(build<T>(blank<T>(), args, kwargs, true));
          }),
          ("__init__" + constructor_signature<T>()).c_str());
  py::list names;
  for_each_field<T>([&](const auto& f) {
    using M = ValueOf<decltype(f)>;
    const auto member = f.member;
    names.append(f.name);
    cls.def_property_readonly(
        f.name, [member](const T& self) { return Convert<M>::to_python(self.*member); },
        (Convert<M>::out_type() + ": " + f.doc).c_str());
  });
  cls.attr("__match_args__") = py::tuple(names);
  cls.def("__reduce__", [](const py::object& self) {
    return py::make_tuple(py::type::of(self), field_values(self.cast<const T&>()));
  });
  const char* replace_doc =
      "replace(self, **changes: Any) -> Self\n\nA copy with some fields changed.";
  const auto replace = [](const T& self, const py::kwargs& changes) {
    return std::make_shared<T>(build<T>(self, py::args(), changes, false));
  };
  cls.def("replace", replace, replace_doc);
  cls.def("__replace__", replace, "__replace__(self, **changes: Any) -> Self");
  cls.def("__repr__", [](const T& self) { return short_repr(self); });
  bind_common(cls);
  return cls;
}

// A value type of numbers alone: also a sequence, and an array of one row.
template <class T>
ValueClass<T> bind_numbers(py::module_& m, const char* doc) {
  auto cls = bind_value<T>(m, doc);
  cls.def(
      "__len__", [](const T&) { return std::tuple_size_v<decltype(Fields<T>::all())>; },
      "__len__(self) -> int");
  cls.def(
      "__iter__", [](const T& self) { return py::iter(field_values(self)); },
      "__iter__(self) -> Iterator[float]");
  cls.def(
      "__getitem__",
      [](const T& self, const py::object& index) { return field_values(self)[index]; },
      "__getitem__(self, index: int) -> float");
  cls.def(
      "__array__",
      [](const T& self, const py::object& dtype, const py::object&) {
        return py::module_::import("numpy").attr("array")(
            field_values(self), dtype.is_none() ? py::str("float64") : dtype);
      },
      py::arg("dtype") = py::none(), py::arg("copy") = py::none(),
      "__array__(self, dtype: DTypeLike = ..., copy: bool | None = ...) -> NDArray[np.float64]");
  return cls;
}

}  // namespace mamelon::python

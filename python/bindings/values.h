#pragma once
// Turns the library's value types into Python classes from one table of fields a type: an immutable
// class with a keyword constructor, read-only properties, equality, hash, pickling, `replace` and a
// short repr. The table is the type's description in its public header; everything that can be is
// done here through function pointers, so that a type adds little to compile.

#include <algorithm>
#include <cstddef>
#include <memory>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include <pybind11/pybind11.h>

#include "convert.h"
#include "convert_spectra.h"
#include "text.h"

namespace mamelon::python {

// What can be done with one field of a value, and with a value, without its type.
struct FieldOps {
  const char* name;
  const char* former;  // its name in the version before; none: null
  std::string doc;
  bool required;
  std::string (*in_type)();
  std::string (*out_type)();
  py::object (*get)(const void* value);
  void (*set)(void* value, py::handle object, const std::string& where);
  std::string (*repr)(const void* value);
};
struct TypeOps {
  const char* name;
  std::vector<FieldOps> fields;
  bool (*is)(py::handle object);
  const void* (*address)(py::handle object);
  bool (*same)(const void* a, const void* b);
  std::size_t (*hash)(const void* value);
  // A copy of `base` with the fields of `changes`.
  py::object (*replaced)(const void* base, const py::kwargs& changes);
};

// Sets fields of a value from positional and keyword arguments.
void fill(void* value, const TypeOps& type, const py::args& args, const py::kwargs& kwargs,
          bool all_needed);
[[nodiscard]] py::tuple field_values(const void* value, const TypeOps& type);
[[nodiscard]] std::string short_repr(const void* value, const TypeOps& type);
[[nodiscard]] std::string constructor_signature(const TypeOps& type);

// Adds a method, or a read-only property, to a class.
template <class Function>
void add_method(const py::object& cls, const char* name, Function function, const char* doc = "") {
  cls.attr(name) = py::cpp_function(std::move(function), py::name(name), py::is_method(cls), doc);
}
template <class Getter>
void add_property(const py::object& cls, const char* name, Getter getter, const std::string& doc) {
  cls.attr(name) = py::module_::import("builtins")
                       .attr("property")(py::cpp_function(std::move(getter), py::is_method(cls)),
                                         py::none(), py::none(), doc);
}
// A read-only property of a class: a member of it or what a function says of it.
template <class Class, class Get>
void add_property_of(Class& cls, const char* name, Get get, const std::string& doc) {
  using T = typename Class::type;
  using M = std::remove_cvref_t<std::invoke_result_t<Get, const T&>>;
  add_property(
      cls, name, [get](const T& self) { return Convert<M>::to_python(std::invoke(get, self)); },
      Convert<M>::out_type() + ": " + doc);
}
// Pickling by the arguments of the constructor, which are properties too.
void pickle_by(const py::object& cls, const std::vector<const char*>& names);
// Equality, hash, copying and HTML: what every class has, however it is built.
void add_common(const py::object& cls, const TypeOps& type);
// The same and everything that comes from the table of fields.
void add_fields(const py::object& cls, const TypeOps& type);
// Length, items and __array__ of a type of numbers alone.
void add_sequence(const py::object& cls, const TypeOps& type);

// Documents, and values with relations between their fields, are checked as they are made.
template <class T>
concept IsChecked = requires(const T& value, const std::string& where) {
  Fields<T>::relate(value, where);
}
|| requires {
  Fields<T>::format;
};

template <class T, std::size_t I>
FieldOps field_ops() {
  constexpr auto described = field_at<I>(Fields<T>::all());
  using M = ValueOf<decltype(described)>;
  return {described.name,
          described.rules.former,
          meaning_of(described.meaning, described.rules),
          described.rules.required,
          &Convert<M>::in_type,
          &Convert<M>::out_type,
          [](const void* value) {
            return Convert<M>::to_python(
                static_cast<const T*>(value)->*(field_at<I>(Fields<T>::all()).member));
          },
          [](void* value, py::handle object, const std::string& where) {
            static_cast<T*>(value)->*(field_at<I>(Fields<T>::all()).member) =
                Convert<M>::from_python(object, where);
          },
          [](const void* value) {
            return Convert<M>::repr(
                static_cast<const T*>(value)->*(field_at<I>(Fields<T>::all()).member));
          }};
}

template <class T>
TypeOps common_ops(const char* name) {
  return {name,
          {},
          [](py::handle object) { return py::isinstance<T>(object); },
          [](py::handle object) -> const void* { return &object.cast<const T&>(); },
          [](const void* a, const void* b) {
            return Convert<T>::same(*static_cast<const T*>(a), *static_cast<const T*>(b));
          },
          [](const void* value) { return Convert<T>::hash(*static_cast<const T*>(value)); },
          nullptr};
}

// The table of a described type; it lives as long as the process.
template <class T>
const TypeOps& type_ops() {
  static const TypeOps table = [] {
    TypeOps made = common_ops<T>(Fields<T>::name);
    [&]<std::size_t... I>(std::index_sequence<I...>) {
      made.fields = {field_ops<T, I>()...};
    }
    (std::make_index_sequence<decltype(Fields<T>::all())::size>{});
    // As Python wants it: what must be given stands before what may be left out.
    std::stable_partition(made.fields.begin(), made.fields.end(),
                          [](const FieldOps& f) { return f.required; });
    made.replaced = [](const void* base, const py::kwargs& changes) -> py::object {
      T value = *static_cast<const T*>(base);
      fill(&value, type_ops<T>(), py::args(), changes, false);
      if constexpr (IsChecked<T>) check(value, Fields<T>::name);
      return py::cast(std::make_shared<T>(std::move(value)));
    };
    return made;
  }();
  return table;
}

template <class T>
std::string short_repr(const T& value) {
  return short_repr(&value, type_ops<T>());
}

// Notes the words of an enumeration for the stub file.
template <class E>
void bind_names(py::module_& m) {
  py::list words;
  for (const std::string_view word : Words<E>::words) words.append(std::string(word));
  m.attr("_names")[Words<E>::name] = py::tuple(words);
}

template <class T>
using ValueClass = py::class_<T, std::shared_ptr<T>>;

// For a class with a constructor and properties of its own.
template <class T>
void bind_common(ValueClass<T>& cls, const char* name) {
  static const TypeOps table = common_ops<T>(name);
  add_common(cls, table);
}

template <class T>
ValueClass<T> bind_value(py::module_& m, const char* doc) {
  const TypeOps& type = type_ops<T>();
  ValueClass<T> cls(m, Fields<T>::name, doc);
  cls.def(py::init([](const py::args& args, const py::kwargs& kwargs) {
            auto value = std::make_shared<T>(blank<T>());
            fill(value.get(), type_ops<T>(), args, kwargs, true);
            if constexpr (IsChecked<T>) check(*value, Fields<T>::name);
            return value;
          }),
          ("__init__" + constructor_signature(type)).c_str());
  add_fields(cls, type);
  add_common(cls, type);
  return cls;
}

// A value type of numbers alone: also a sequence, and an array of one row.
template <class T>
ValueClass<T> bind_numbers(py::module_& m, const char* doc) {
  auto cls = bind_value<T>(m, doc);
  add_sequence(cls, type_ops<T>());
  return cls;
}

}  // namespace mamelon::python

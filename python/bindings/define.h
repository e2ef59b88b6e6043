#pragma once
// A function of the library as one of Python: its arguments are converted by their types, and named
// in messages as in the call.

#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <tuple>
#include <type_traits>
#include <utility>
#include <vector>

#include <pybind11/pybind11.h>

#include "convert.h"
#include "run.h"

namespace mamelon::python {

// How an argument comes and what it becomes.
template <class A>
struct Argument {
  using Given = const py::object&;
  static A taken(const py::object& given, const char* name) {
    return Convert<A>::from_python(given, name);
  }
};
template <class M>
struct Argument<std::span<const M>> : Argument<std::vector<M>> {};
template <>
struct Argument<std::string_view> : Argument<std::string> {};
// What is large stays where Python holds it.
template <class M>
struct Argument<std::shared_ptr<M>> {
  using Given = const std::shared_ptr<M>&;
  static const std::shared_ptr<M>& taken(const std::shared_ptr<M>& given, const char*) {
    return given;
  }
};

template <class... Extra>
std::vector<const char*> names_in(const Extra&... extra) {
  std::vector<const char*> names;
  const auto add = [&]<class E>(const E& one) {
    if constexpr (std::is_base_of_v<py::arg, E>) names.push_back(one.name);
  };
  (add(extra), ...);
  return names;
}

template <class R, class... A, class... Extra>
void define_as(py::module_& m, const char* name, const std::function<R(A...)>& function,
               bool watched, const Extra&... extra) {
  const auto call = [function, watched, names = names_in(extra...)](
                        typename Argument<std::remove_cvref_t<A>>::Given... given) {
    std::size_t i = 0;
    // In braces arguments are taken from left to right.
    std::tuple values{Argument<std::remove_cvref_t<A>>::taken(given, names[i++])...};
    const auto work = [function, values = std::move(values)] {
      return std::apply(function, values);
    };
    return Convert<std::remove_cvref_t<R>>::to_python(watched ? interruptibly(work) : work());
  };
  m.def(name, call, extra...);
}

// `extra`: the names of all arguments and then the docstring.
template <class Function, class... Extra>
void define(py::module_& m, const char* name, const Function& function, const Extra&... extra) {
  define_as(m, name, std::function(function), false, extra...);
}
// The same for long work, which Ctrl-C ends.
template <class Function, class... Extra>
void define_long(py::module_& m, const char* name, const Function& function,
                 const Extra&... extra) {
  define_as(m, name, std::function(function), true, extra...);
}

}  // namespace mamelon::python

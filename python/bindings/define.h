#pragma once
// A function of the library as one of Python: its arguments are converted by their types, and named
// in messages as in the call; the signature that its docstring begins with is made from the same.

#include <filesystem>
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

// What a function takes in place of text: the bytes of a file, or either.
struct Bytes {
  std::string held;
  [[nodiscard]] std::span<const std::byte> view() const { return std::as_bytes(std::span(held)); }
};
struct TextOrBytes {
  std::string held;
};

// How an argument is called in a signature and what it becomes.
template <class A>
struct Argument {
  static std::string type() { return Convert<A>::in_type(); }
  static A taken(const py::object& given, const char* name) {
    return Convert<A>::from_python(given, name);
  }
};
template <class M>
struct Argument<std::span<const M>> : Argument<std::vector<M>> {};
template <>
struct Argument<std::string_view> : Argument<std::string> {};
// What is large stays where Python holds it. (That of a const value may be None.)
template <class M>
requires(!std::is_const_v<M>) struct Argument<std::shared_ptr<M>> {
  static std::string type() { return Fields<M>::name; }
  static std::shared_ptr<M> taken(const py::object& given, const char* name) {
    if (!py::isinstance<M>(given)) wrong_type(name, one(Fields<M>::name), given);
    return given.cast<std::shared_ptr<M>>();
  }
};
template <>
struct Argument<std::filesystem::path> {
  static std::string type() { return "str | PathLike[str]"; }
  static std::filesystem::path taken(const py::object& given, const char* name);
};
template <>
struct Argument<Bytes> {
  static std::string type() { return "bytes"; }
  static Bytes taken(const py::object& given, const char* name);
};
template <>
struct Argument<TextOrBytes> {
  static std::string type() { return "str | bytes"; }
  static TextOrBytes taken(const py::object& given, const char* name);
};

// The same of a result.
template <class R>
struct Result {
  static std::string type() { return Convert<R>::out_type(); }
  static py::object from(const R& result) { return Convert<R>::to_python(result); }
};
template <class M>
requires(!std::is_const_v<M>) struct Result<std::shared_ptr<M>> {
  static std::string type() { return Fields<M>::name; }
  static py::object from(const std::shared_ptr<M>& result) { return py::cast(result); }
};
template <>
struct Result<void> {
  static std::string type() { return "None"; }
};
template <>
struct Result<Bytes> {
  static std::string type() { return "bytes"; }
  static py::object from(const Bytes& result) { return py::bytes(result.held); }
};

// What is said of a function beside its types: its arguments and what it does.
struct Parameter {
  const char* name;
  bool has_default = false;
  bool begins_keywords = false;
};
struct Description {
  std::vector<Parameter> parameters;
  std::string text;
};
template <class... Extra>
Description description_in(const Extra&... extra) {
  Description all;
  bool keywords = false;
  const auto add = [&]<class E>(const E& one) {
    if constexpr (std::is_same_v<py::kw_only, E>) keywords = true;
    if constexpr (std::is_base_of_v<py::arg, E>) {
      all.parameters.push_back(
          {one.name, std::is_base_of_v<py::arg_v, E>, std::exchange(keywords, false)});
    }
    if constexpr (std::is_convertible_v<const E&, const char*>) all.text = one;
  };
  (add(extra), ...);
  return all;
}
// The docstring that make_stub.py reads: signature, empty line, text.
[[nodiscard]] std::string docstring(const char* name, const Description& all,
                                    const std::vector<std::string>& types,
                                    const std::string& result);

// What a function gives: its result, or that of the work it returns, which can be told to stop.
template <class R>
concept IsWork = std::is_invocable_v<R, const Progress&>;
template <class R>
struct Given {
  using Type = std::remove_cvref_t<R>;
};
template <IsWork R>
struct Given<R> {
  using Type = std::invoke_result_t<R, const Progress&>;
};

template <class>
using PythonObject = const py::object&;

template <class R, class... A, class... Extra>
void define_as(py::module_& m, const char* name, const std::function<R(A...)>& function,
               bool watched, const Extra&... extra) {
  using Answer = Result<typename Given<R>::Type>;
  const Description all = description_in(extra...);
  const auto call = [function, watched, parameters = all.parameters](PythonObject<A>... given) {
    [[maybe_unused]] auto name_of_next = [at = parameters.begin()]() mutable {
      return (at++)->name;
    };
    // In braces arguments are taken from left to right.
    std::tuple values{Argument<std::remove_cvref_t<A>>::taken(given, name_of_next())...};
    const auto work = [function, values = std::move(values)] {
      return std::apply(function, values);
    };
    if constexpr (IsWork<R>) {
      return Answer::from(interruptibly(work()));
    } else if constexpr (std::is_void_v<R>) {
      const py::gil_scoped_release release;
      work();
    } else {
      return Answer::from(watched ? interruptibly(work) : work());
    }
  };
  const std::string doc =
      docstring(name, all, {Argument<std::remove_cvref_t<A>>::type()...}, Answer::type());
  m.def(name, call, extra..., doc.c_str());
}

// `extra`: the names of all arguments and then what the function does.
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

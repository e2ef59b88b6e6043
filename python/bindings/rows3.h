#pragma once
// Functions of single colours as functions of Python over rows of them.

#include <algorithm>
#include <array>
#include <bit>
#include <concepts>

#include "mamelon/colour.h"
#include "mamelon/reading.h"
#include "mamelon/stack.h"

#include "define.h"
#include "values.h"

namespace mamelon::python {

inline Xyz xyz_at(const double* row) {
  return {row[0], row[1], row[2]};
}
inline void put(double* row, double a, double b, double c) {
  row[0] = a;
  row[1] = b;
  row[2] = c;
}

// One number a row; a plain double is the same for all rows.
struct EachNumber {
  double value;
  operator double() const { return value; }
};

// A white point, given as tristimulus values or as a viewing.
struct White {
  Xyz xyz;
  operator const Xyz&() const { return xyz; }
};
inline bool is_viewing(py::handle object) {
  return py::isinstance<Viewing>(object) || PyUnicode_Check(object.ptr());
}
template <>
struct Argument<White> {
  static std::string type() { return "Xyz | Viewing | str | _Numbers"; }
  static White taken(const py::object& given, const char* name) {
    return {is_viewing(given) ? white_point(Convert<Viewing>::from_python(given, name))
                              : Convert<Xyz>::from_python(given, name)};
  }
};

// A table (n, 3) as a list of colours.
struct LabList {
  std::vector<Lab> colours;
};
template <>
struct Argument<LabList> {
  static std::string type() { return "ArrayLike"; }
  static LabList taken(const py::object& given, const char* name) {
    const Doubles table = doubles(given, name);
    if (table.shape.size() != 2 || table.shape[1] != 3)
      throw ArgumentError(std::string(name) + " must have shape (n, 3), not " +
                          shape_text(table.shape));
    LabList list;
    for (std::size_t i = 0; i < table.size(); i += 3)
      list.colours.push_back({table.data[i], table.data[i + 1], table.data[i + 2]});
    return list;
  }
};

template <class A>
concept IsRow = std::same_as<A, Lab> || std::same_as<A, Xyz> || std::same_as<A, Lch> ||
    std::same_as<A, Vec3> || std::same_as<A, Cam16Ucs> || std::same_as<A, LayerOptics> ||
    std::same_as<A, TwoSidedOptics> || std::same_as<A, White> || std::same_as<A, EachNumber>;
template <class A>
using NumbersOf = std::array<double, sizeof(A) / sizeof(double)>;

// An argument for each row: an option, the same for all, or one of `all` arrays.
template <class A>
class EachRow {
 public:
  static std::string type() { return Argument<A>::type(); }
  EachRow(const py::object& given, const char* name, std::vector<Rows>&)
      : value_(Argument<A>::taken(given, name)) {}
  const A& at(const double* const*, std::size_t) const { return value_; }

 private:
  A value_;
};
template <IsRow A>
class EachRow<A> {
 public:
  static std::string type() {
    return std::same_as<A, White> ? "ArrayLike | Viewing | str" : "ArrayLike";
  }
  EachRow(const py::object& given, const char* name, std::vector<Rows>& all) : at_(all.size()) {
    if (std::same_as<A, White> && is_viewing(given)) {
      const Xyz white = Argument<White>::taken(given, name);
      all.push_back(rows(py::make_tuple(white.x, white.y, white.z), 3, name));
      all.back().weak = true;
    } else {
      all.push_back(rows(given, std::same_as<A, EachNumber> ? 0 : width, name));
    }
  }
  A at(const double* const* in, std::size_t row) const {
    NumbersOf<A> numbers;
    std::copy_n(in[at_] + row * width, width, numbers.begin());
    return std::bit_cast<A>(numbers);
  }

 private:
  static constexpr std::size_t width = std::tuple_size_v<NumbersOf<A>>;
  std::size_t at_;
};

// A function of rows and options over arrays, which broadcast as NumPy does.
template <class Function>
struct OverRows;
template <class R, class... A>
struct OverRows<std::function<R(A...)>> {
  static std::vector<std::string> types() { return {EachRow<std::remove_cvref_t<A>>::type()...}; }

  template <class Function>
  static py::object of(const Function& function, const std::vector<Parameter>& parameters,
                       PythonObject<A>... given) {
    auto name_of_next = [at = parameters.begin()]() mutable { return (at++)->name; };
    std::vector<Rows> arrays;
    const std::tuple<EachRow<std::remove_cvref_t<A>>...> arguments{
        EachRow<std::remove_cvref_t<A>>(given, name_of_next(), arrays)...};
    constexpr std::size_t width = std::tuple_size_v<NumbersOf<R>>;
    const Shape tail = std::same_as<R, double> ? Shape{}
                       : std::same_as<R, Mat3> ? Shape{3, 3}
                                               : Shape{width};
    const auto kernel = [&](std::size_t count, const double* const* in, double* out) {
      for (std::size_t row = 0; row < count; ++row) {
        const R result = std::apply(
            [&](const auto&... argument) { return function(argument.at(in, row)...); }, arguments);
        std::ranges::copy(std::bit_cast<NumbersOf<R>>(result), out + row * width);
      }
    };
    return map_rows(arrays, tail, kernel);
  }
};
template <class Function, class... Objects>
py::object over_rows(const Function& function, const std::vector<Parameter>& parameters,
                     const Objects&... given) {
  return OverRows<decltype(std::function(function))>::of(function, parameters, given...);
}

template <class Function, class R, class... A, class... Extra>
void define_rows_as(py::module_& m, const char* name, const Function& function,
                    const std::function<R(A...)>*, const Extra&... extra) {
  const Description all = description_in(extra...);
  const auto call = [function, parameters = all.parameters](PythonObject<A>... given) {
    return over_rows(function, parameters, given...);
  };
  const std::string doc =
      docstring(name, all, OverRows<std::function<R(A...)>>::types(), "_Floats");
  m.def(name, call, extra..., doc.c_str());
}
// The same as a function of Python. `extra`: the names of all arguments and what it does.
template <class Function, class... Extra>
void define_rows(py::module_& m, const char* name, const Function& function,
                 const Extra&... extra) {
  define_rows_as(m, name, function, static_cast<decltype(std::function(function))*>(nullptr),
                 extra...);
}

}  // namespace mamelon::python

// Colour differences and what they mean.

#include "mamelon/difference.h"

#include "mamelon/appearance.h"
#include "mamelon/batch.h"
#include "mamelon/reading.h"

#include "bindings.h"
#include "columns3.h"
#include "rows3.h"
#include "values.h"

namespace mamelon::python {

struct PositiveWeights : DifferenceWeights {};
template <>
struct Argument<PositiveWeights> : Argument<DifferenceWeights> {
  static PositiveWeights taken(const py::object& given, const char* name) {
    const PositiveWeights w{Argument<DifferenceWeights>::taken(given, name)};
    if (w.kl > 0 && w.kc > 0 && w.kh > 0) return w;
    throw ArgumentError("weights must be above 0, not " + short_number(w.kl) + ":" +
                        short_number(w.kc) + ":" + short_number(w.kh));
  }
};

namespace {

// The constants of mamelon::threshold as one read-only object.
struct Thresholds {};

// Below this many rows threads cost more than they save.
constexpr std::size_t enough_for_threads = 8192;

BatchOptions batch_options(const DifferenceWeights& weights, std::size_t count) {
  return {.weights = weights, .threads = count < enough_for_threads ? std::size_t{1} : 0};
}

// kernel(reference rows, sample rows, result) over two arrays of colours: columns as they are,
// anything else broadcast as rows.
template <class Kernel>
py::object map_labs(const py::object& reference, const py::object& sample, const Kernel& kernel) {
  if (auto result = map_columns<double>(reference, sample, kernel)) return *result;
  if (auto result = map_columns<float>(reference, sample, kernel)) return *result;
  const auto by_rows = [&kernel]<class T>(std::size_t count, const T* const* in, T* out) {
    kernel(LabRows<T>::interleaved({in[0], 3 * count}), LabRows<T>::interleaved({in[1], 3 * count}),
           std::span<T>(out, count));
  };
  return map_rows({rows(reference, 3, "reference"), rows(sample, 3, "sample")}, {}, by_rows,
                  by_rows);
}

void bind_differences(py::module_& m) {
  m.def(
      "de00",
      [](const py::object& reference, const py::object& sample, const py::object& weights) {
        const auto w = Argument<PositiveWeights>::taken(weights, "weights");
        const auto kernel = [w]<class T>(const LabRows<T>& first, const LabRows<T>& second,
                                         std::span<T> out) {
          de00_rows<T>(first, second, out, batch_options(w, out.size()));
        };
        return map_labs(reference, sample, kernel);
      },
      py::arg("reference"), py::arg("sample"), py::arg("weights") = DifferenceWeights{},
      R"(de00(reference: Lab | _Numbers, sample: Lab | _Numbers, weights: DifferenceWeights = ...) -> np.float64
de00(reference: ArrayLike, sample: ArrayLike, weights: DifferenceWeights = ...) -> _Floats

CIEDE2000 colour difference (ISO/CIE 11664-6; Sharma, Wu, Dalal 2005) of CIELAB (…, 3), broadcast.

Symmetric to the bit, exactly 0 for equal colours, NaN in NaN out. A pair gives a number, rows give
(…,). Within 1e-11 of the exact formula in float64 and 1e-4 in float32. C-contiguous arrays and
(n, 3) arrays in Fortran order (such as ``columns.T``) are read without a copy. Raises ArgumentError for a wrong shape or dtype.

>>> float(de00([50, 2.6772, -79.7751], [50, 0, -82.7485]).round(4))
2.0425
>>> de00(np.zeros((4, 1, 3)), np.zeros((5, 3))).shape
(4, 5)
)");
  define_rows(
      m, "de00_parts",
      [](const Lab& reference, const Lab& sample, const PositiveWeights& weights) {
        return de00_parts(reference, sample, weights);
      },
      py::arg("reference"), py::arg("sample"), py::arg("weights") = DifferenceWeights{},
      R"(CIEDE2000 with its signed weighted parts, sample minus reference: (…, 4) of ΔE, ΔL, ΔC, ΔH.

>>> de00_parts([70, 0, 18], [71, 0, 18])[1] > 0
np.True_
)");
  m.def(
      "de76",
      [](const py::object& reference, const py::object& sample) {
        const auto kernel = []<class T>(const LabRows<T>& first, const LabRows<T>& second,
                                        std::span<T> out) {
          de76_rows<T>(first, second, out, batch_options({}, out.size()));
        };
        return map_labs(reference, sample, kernel);
      },
      py::arg("reference"), py::arg("sample"),
      R"(de76(reference: Lab | _Numbers, sample: Lab | _Numbers) -> np.float64
de76(reference: ArrayLike, sample: ArrayLike) -> _Floats

CIELAB difference ΔE*ab (ISO/CIE 11664-4) of colours (…, 3), broadcast.

>>> float(de76([70, 0, 0], [70, 3, 4]))
5.0
)");
}

void bind_meaning(py::module_& m) {
  define(m, "grade", grade, py::arg("de00"),
         R"(The match of a ΔE00 graded by PT, AT, 2·AT, 3·AT (Paravina, Perez, Ghinea 2019).

>>> grade(0.5)
'excellent'
)");
  define_rows(
      m, "translucency_ab", translucency_ab, py::arg("over_white"), py::arg("over_black"),
      R"(Translucency parameter in ΔE*ab of a layer's colours (…, 3) over white and over black.

>>> float(translucency_ab([80, 0, 10], [77, 0, 6]))
5.0
)");
  define_rows(
      m, "translucency_00",
      [](const Lab& over_white, const Lab& over_black, const PositiveWeights& weights) {
        return translucency_00(over_white, over_black, weights);
      },
      py::arg("over_white"), py::arg("over_black"), py::arg("weights") = DifferenceWeights{},
      R"(Translucency parameter in CIEDE2000 of a layer's colours (…, 3) over white and over black.

>>> float(translucency_00([80, 0, 10], [80, 0, 10]))
0.0
)");
  define_rows(
      m, "contrast_ratio",
      [](EachNumber black, EachNumber white) { return contrast_ratio(black, white); },
      py::arg("y_over_black"), py::arg("y_over_white"),
      R"(Contrast ratio Y over black / Y over white, broadcast.

>>> float(contrast_ratio(0.3, 0.6))
0.5
)");
  define_long(
      m, "coverage_error",
      [](const LabList& teeth, const LabList& tabs, const PositiveWeights& weights) {
        return coverage_error(teeth.colours, tabs.colours, weights);
      },
      py::arg("teeth"), py::arg("tabs"), py::arg("weights") = DifferenceWeights{},
      R"(Mean over `teeth` (n, 3) of the least CIEDE2000 to any of `tabs` (m, 3).

>>> coverage_error([[70, 1, 15]], [[70, 1, 15], [60, 1, 15]])
0.0
)");
  const py::class_<Thresholds> named(m, "_Thresholds",
                                     "50:50 % thresholds of the median observer; their sources "
                                     "stand in mamelon/appearance.h.");
  const auto constant = [&named](const char* name, double value, const char* doc) {
    add_property(
        named, name, [value](const Thresholds&) { return value; }, std::string("float: ") + doc);
  };
  constant("perceptible_de00", threshold::perceptible_de00, "perceptibility in CIEDE2000(1:1:1)");
  constant("acceptable_de00", threshold::acceptable_de00, "acceptability in CIEDE2000(1:1:1)");
  constant("perceptible_de76", threshold::perceptible_de76, "perceptibility in ΔE*ab");
  constant("acceptable_de76", threshold::acceptable_de76, "acceptability in ΔE*ab");
  constant("perceptible_lightness_00", threshold::perceptible_lightness_00,
           "of the lightness part of ΔE00");
  constant("acceptable_lightness_00", threshold::acceptable_lightness_00,
           "of the lightness part of ΔE00");
  constant("perceptible_chroma_00", threshold::perceptible_chroma_00, "of the chroma part of ΔE00");
  constant("acceptable_chroma_00", threshold::acceptable_chroma_00, "of the chroma part of ΔE00");
  constant("perceptible_translucency_00", threshold::perceptible_translucency_00,
           "of a difference of translucency_00");
  constant("acceptable_translucency_00", threshold::acceptable_translucency_00,
           "of a difference of translucency_00");
  constant("perceptible_translucency_ab", threshold::perceptible_translucency_ab,
           "of a difference of translucency_ab");
  constant("acceptable_translucency_ab", threshold::acceptable_translucency_ab,
           "of a difference of translucency_ab");
  constant("perceptible_whiteness", threshold::perceptible_whiteness,
           "of a difference of whiteness indices");
  constant("acceptable_whiteness", threshold::acceptable_whiteness,
           "of a difference of whiteness indices");
  m.attr("threshold") = Thresholds{};
}

}  // namespace

void bind_difference(py::module_& m) {
  bind_names<Grade>(m);
  bind_differences(m);
  bind_meaning(m);
}

}  // namespace mamelon::python

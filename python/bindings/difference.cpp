// Colour differences and what they mean.

#include "mamelon/difference.h"

#include "mamelon/appearance.h"
#include "mamelon/batch.h"
#include "mamelon/reading.h"

#include "bindings.h"
#include "columns3.h"
#include "rows3.h"
#include "run.h"
#include "values.h"

namespace mamelon::python {

namespace {

// The constants of mamelon::threshold as one read-only object.
struct Thresholds {};

Lab lab_at(const double* row) {
  return {row[0], row[1], row[2]};
}

DifferenceWeights weights_from(const py::object& object) {
  const auto w = Convert<DifferenceWeights>::from_python(object, "weights");
  if (!(w.kl > 0 && w.kc > 0 && w.kh > 0))
    throw ArgumentError("weights must be above 0, not " + short_number(w.kl) + ":" +
                        short_number(w.kc) + ":" + short_number(w.kh));
  return w;
}

// A number a row from pairs of colours.
template <class Pair>
py::object map_pairs(const py::object& a, const char* name_a, const py::object& b,
                     const char* name_b, Pair pair) {
  return map_rows({rows(a, 3, name_a), rows(b, 3, name_b)}, {},
                  [pair](std::size_t count, const double* const* in, double* out) {
                    for (std::size_t i = 0; i < count; ++i)
                      out[i] = pair(lab_at(in[0] + 3 * i), lab_at(in[1] + 3 * i));
                  });
}

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
        const DifferenceWeights w = weights_from(weights);
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
  m.def(
      "de00_parts",
      [](const py::object& reference, const py::object& sample, const py::object& weights) {
        const DifferenceWeights w = weights_from(weights);
        return map_rows({rows(reference, 3, "reference"), rows(sample, 3, "sample")}, {4},
                        [w](std::size_t count, const double* const* in, double* out) {
                          for (std::size_t i = 0; i < count; ++i) {
                            const SignedDifference d =
                                de00_parts(lab_at(in[0] + 3 * i), lab_at(in[1] + 3 * i), w);
                            double* row = out + 4 * i;
                            row[0] = d.de;
                            row[1] = d.dl;
                            row[2] = d.dc;
                            row[3] = d.dh;
                          }
                        });
      },
      py::arg("reference"), py::arg("sample"), py::arg("weights") = DifferenceWeights{},
      R"(de00_parts(reference: ArrayLike, sample: ArrayLike, weights: DifferenceWeights = ...) -> _Floats

CIEDE2000 with its signed weighted parts, sample minus reference: (…, 4) of ΔE, ΔL, ΔC, ΔH.

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
  m.def(
      "grade",
      [](const py::object& difference) {
        return Convert<Grade>::to_python(grade(Convert<double>::from_python(difference, "de00")));
      },
      py::arg("de00"), R"(grade(de00: float) -> _Grade

The match of a ΔE00 graded by PT, AT, 2·AT, 3·AT (Paravina, Perez, Ghinea 2019).

>>> grade(0.5)
'excellent'
)");
  m.def(
      "translucency_ab",
      [](const py::object& over_white, const py::object& over_black) {
        return map_pairs(over_white, "over_white", over_black, "over_black",
                         [](const Lab& a, const Lab& b) { return translucency_ab(a, b); });
      },
      py::arg("over_white"), py::arg("over_black"),
      R"(translucency_ab(over_white: ArrayLike, over_black: ArrayLike) -> _Floats

Translucency parameter in ΔE*ab of a layer's colours (…, 3) over white and over black.

>>> float(translucency_ab([80, 0, 10], [77, 0, 6]))
5.0
)");
  m.def(
      "translucency_00",
      [](const py::object& over_white, const py::object& over_black, const py::object& weights) {
        const DifferenceWeights w = weights_from(weights);
        return map_pairs(over_white, "over_white", over_black, "over_black",
                         [w](const Lab& a, const Lab& b) { return translucency_00(a, b, w); });
      },
      py::arg("over_white"), py::arg("over_black"), py::arg("weights") = DifferenceWeights{},
      R"(translucency_00(over_white: ArrayLike, over_black: ArrayLike, weights: DifferenceWeights = ...) -> _Floats

Translucency parameter in CIEDE2000 of a layer's colours (…, 3) over white and over black.

>>> float(translucency_00([80, 0, 10], [80, 0, 10]))
0.0
)");
  m.def(
      "contrast_ratio",
      [](const py::object& over_black, const py::object& over_white) {
        return map_rows({rows(over_black, 0, "y_over_black"), rows(over_white, 0, "y_over_white")},
                        {}, [](std::size_t count, const double* const* in, double* out) {
                          for (std::size_t i = 0; i < count; ++i)
                            out[i] = contrast_ratio(in[0][i], in[1][i]);
                        });
      },
      py::arg("y_over_black"), py::arg("y_over_white"),
      R"(contrast_ratio(y_over_black: ArrayLike, y_over_white: ArrayLike) -> _Floats

Contrast ratio Y over black / Y over white, broadcast.

>>> float(contrast_ratio(0.3, 0.6))
0.5
)");
  m.def(
      "coverage_error",
      [](const py::object& teeth, const py::object& tabs, const py::object& weights) {
        return interruptibly(
            [teeth = lab_list(teeth, "teeth"), tabs = lab_list(tabs, "tabs"),
             w = weights_from(weights)] { return coverage_error(teeth, tabs, w); });
      },
      py::arg("teeth"), py::arg("tabs"), py::arg("weights") = DifferenceWeights{},
      R"(coverage_error(teeth: ArrayLike, tabs: ArrayLike, weights: DifferenceWeights = ...) -> float

Mean over `teeth` (n, 3) of the least CIEDE2000 to any of `tabs` (m, 3).

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

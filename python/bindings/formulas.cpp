// Further formulas of the colour layer: other spaces and differences, carried covariances,
// metamerism, indices, and the nearest of many colours.

#include "mamelon/appearance.h"
#include "mamelon/batch.h"
#include "mamelon/difference.h"

#include "bindings.h"
#include "rows3.h"
#include "values.h"

namespace mamelon::python {

namespace {

void bind_spaces(py::module_& m) {
  define_rows(m, "to_din99o", to_din99o, py::arg("lab"),
              R"(DIN99o coordinates (DIN 6176:2018, ke = kch = 1) of CIELAB, both (…, 3).

>>> to_din99o([0, 0, 0]).round(9) + 0.0
array([0., 0., 0.])
)");
  bind_value<Cam16Conditions>(m, R"(What CAM16 must know of the place.

>>> Cam16Conditions(white_point("D65/2"), 60, 0.2, "average").surround
'average'
)");
  define_rows(
      m, "to_cam16_ucs", to_cam16_ucs, py::arg("xyz"), py::arg("conditions"),
      R"(CAM16-UCS J', a', b' (…, 3) of tristimulus values (Li et al. 2017). Raises ArgumentError for
conditions out of range.

>>> place = Cam16Conditions(white_point("D65/2"), 60, 0.2, "average")
>>> float(to_cam16_ucs(white_point("D65/2"), place)[0].round(6))
100.0
)");
  define_rows(
      m, "to_linear_srgb",
      [](const Xyz& xyz, const White& white) { return to_linear_srgb(xyz, white); }, py::arg("xyz"),
      py::arg("white"),
      R"(Linear light sRGB (IEC 61966-2-1, unclipped), adapted to D65 by Bradford, both (…, 3).

>>> to_linear_srgb(white_point("A/2"), "A/2").round(6)
array([1., 1., 1.])
)");
  define_rows(
      m, "from_linear_srgb",
      [](const Vec3& rgb, const White& white) { return from_linear_srgb(rgb, white); },
      py::arg("rgb"), py::arg("white"), R"(The inverse of `to_linear_srgb`.

>>> float(from_linear_srgb([1, 1, 1], "D65/2")[1].round(9))
1.0
)");
}

void bind_other_differences(py::module_& m) {
  define_rows(m, "de94", de94, py::arg("reference"), py::arg("sample"),
              py::arg("weights") = DifferenceWeights{}, py::arg("application") = "graphic_arts",
              R"(CIE 1994 difference (CIE 116:1995) of CIELAB (…, 3), broadcast. Not symmetric.

>>> float(de94([70, 0, 0], [71, 0, 0]))
1.0
)");
  define_rows(m, "de_cmc", de_cmc, py::arg("reference"), py::arg("sample"), py::arg("l") = 2.0,
              py::arg("c") = 1.0,
              R"(CMC(l:c) difference (ISO 105-J03) of CIELAB (…, 3), broadcast. Not symmetric.

>>> float(de_cmc([70, 0, 0], [70, 0, 0]))
0.0
)");
  define_rows(m, "de_din99o", de_din99o, py::arg("reference"), py::arg("sample"),
              R"(Distance in DIN99o of CIELAB (…, 3), broadcast (DIN 6176:2018, ke = kch = 1).

>>> float(de_din99o([70, 0, 0], [70, 0, 0]))
0.0
)");
  define_rows(m, "de_cam16", de_cam16, py::arg("reference"), py::arg("sample"),
              R"(Distance of CAM16-UCS coordinates (…, 3), broadcast.

>>> float(de_cam16([70, 0, 0], [70, 3, 4]))
5.0
)");
  std::string known;
  for (std::size_t i = 0; i < Words<Formula>::words.size(); ++i)
    known += "\n- " + std::string(Words<Formula>::words[i]) + ": " +
             std::string(source_of(static_cast<Formula>(i)));
  static const std::string doc = "A colour-difference formula chosen by the caller.\n" + known + R"(

>>> DifferenceFormula("cmc", DifferenceWeights(kl=2)).formula
'cmc'
)";
  bind_value<DifferenceFormula>(m, doc.c_str());
  define_rows(
      m, "difference",
      [](const Lab& reference, const Lab& sample, const DifferenceFormula& formula) {
        return difference(reference, sample, formula);
      },
      py::arg("reference"), py::arg("sample"), py::arg("formula"),
      R"(Difference of CIELAB (…, 3) by any formula, broadcast.

>>> float(difference([70, 0, 0], [70, 3, 4], DifferenceFormula("de76")))
5.0
)");
}

void bind_jacobians(py::module_& m) {
  define_rows(
      m, "xyz_jacobian",
      [](const Lab& lab, const White& white) { return xyz_jacobian(lab, white); }, py::arg("lab"),
      py::arg("white"), R"(dXYZ/dLab (…, 3, 3) at `lab` (…, 3), rows X Y Z.

>>> xyz_jacobian([70, 1, 15], "D65/2").shape
(3, 3)
)");
  define_rows(
      m, "lch_jacobian", lch_jacobian, py::arg("lab"),
      R"(dLCh/dLab (…, 3, 3) at `lab` (…, 3), h in degrees. Raises ArgumentError at zero chroma.

>>> lch_jacobian([70, 3, 4])[1].round(3)
array([0. , 0.6, 0.8])
)");
  define_rows(
      m, "adaptation_matrix",
      [](const White& from, const White& to, Adaptation method) {
        return adaptation_matrix(from, to, method);
      },
      py::arg("from_white"), py::arg("to_white"), py::arg("method"),
      R"(The matrix (…, 3, 3) that `adapt` multiplies by.

>>> np.allclose(adaptation_matrix("D65/2", "D65/2", "cat16"), np.eye(3))
True
)");
  bind_value<Measured<Xyz>>(m, R"(Tristimulus values with the two parts of their uncertainty.

>>> MeasuredXyz([0.4, 0.42, 0.38]).value.y
0.42
)");
  bind_value<Measured<Lch>>(m, R"(An Lch with the two parts of its uncertainty.

>>> MeasuredLch([70, 15, 80]).value.c
15.0
)");
  define(
      m, "measured_lab",
      [](const Measured<Xyz>& xyz, const White& white) { return measured_lab(xyz, white); },
      py::arg("xyz"), py::arg("white"),
      R"(`to_lab` with both covariances carried by its Jacobian (JCGM 100:2008, 5.2).

>>> measured_lab(MeasuredXyz([0.4, 0.42, 0.38], np.eye(3) * 1e-6), "D65/2").sd().shape
(3,)
)");
  define(
      m, "measured_xyz",
      [](const Measured<Lab>& lab, const White& white) { return measured_xyz(lab, white); },
      py::arg("lab"), py::arg("white"), R"(`to_xyz` with both covariances carried.

>>> round(measured_xyz(Measured([100, 0, 0]), "D65/2").value.y, 12)
1.0
)");
  define(m, "measured_lch", measured_lch, py::arg("lab"), R"(`to_lch` with both covariances carried.

>>> measured_lch(Measured([70, 3, 4])).value.c
5.0
)");
  define(
      m, "measured_adapted",
      [](const Measured<Xyz>& xyz, const White& from, const White& to, Adaptation method) {
        return measured_adapted(xyz, from, to, method);
      },
      py::arg("xyz"), py::arg("from_white"), py::arg("to_white"), py::arg("method"),
      R"(`adapt` with both covariances carried.

>>> measured_adapted(MeasuredXyz([0.4, 0.4, 0.4]), "E/2", "E/2", "cat16").value.x.__round__(9)
0.4
)");
}

void bind_indices(py::module_& m) {
  define(m, "grade_76", grade_76, py::arg("de76"),
         R"(The match of a ΔE*ab graded by its own thresholds.

>>> grade_76(2.0)
'acceptable'
)");
  define_rows(
      m, "whiteness_index_dentistry", whiteness_index_dentistry, py::arg("lab"),
      R"(Whiteness index for dentistry of CIELAB (…, 3) under D65/2; higher is whiter (Perez et al. 2016).

>>> float(whiteness_index_dentistry([100, 0, 0]).round(3))
51.1
)");
  define_rows(
      m, "yellowness_e313", yellowness_e313, py::arg("xyz"), py::arg("viewing"),
      R"(Yellowness index (ASTM E313) of tristimulus values (…, 3) under C or D65, else ArgumentError.

>>> bool(abs(yellowness_e313(white_point("D65/2"), "D65/2")) < 0.1)
True
)");
  bind_value<Metamerism>(
      m, R"(How far apart two specimens that match under one light fall under another.

>>> Metamerism("A/2", residual=0.1).residual
0.1
)");
  define(
      m, "special_metamerism", special_metamerism, py::arg("reference"), py::arg("sample"),
      py::arg("reference_light"), py::arg("lights"), py::arg("formula") = DifferenceFormula{},
      R"(Special metamerism index, change in illuminant (CIE 015:2018): every light under 2°, then 10°.

>>> grey = Reflectance(Grid(400, 10, 31), [0.5] * 31)
>>> [m.uncorrected for m in special_metamerism(grey, grey, "D65", ["A"])]
[0.0, 0.0]
)");
  m.def(
      "nearest",
      [](const py::object& given, const py::object& among, const py::object& weights) {
        const Doubles candidates = doubles(among, "candidates");
        if (candidates.shape.size() != 2 || candidates.shape[1] != 3)
          throw ArgumentError("candidates must have shape (n, 3), not " +
                              shape_text(candidates.shape));
        const std::span<const double> held(candidates.data, candidates.size());
        BatchOptions options;
        options.weights = Convert<DifferenceWeights>::from_python(weights, "weights");
        const py::object both =
            map_rows({rows(given, 3, "colours")}, {2},
                     [&](std::size_t count, const double* const* in, double* out) {
                       std::vector<std::uint32_t> index(count);
                       std::vector<double> de(count);
                       nearest_rows<double>(LabRows<double>::interleaved({in[0], 3 * count}),
                                            LabRows<double>::interleaved(held), index, de, options);
                       for (std::size_t i = 0; i < count; ++i) {
                         out[2 * i] = index[i] == no_nearest ? -1 : static_cast<double>(index[i]);
                         out[2 * i + 1] = de[i];
                       }
                     });
        const auto part = [&](int which) { return both[py::make_tuple(py::ellipsis(), which)]; };
        return py::make_tuple(part(0).attr("astype")("int64"), part(1));
      },
      py::arg("colours"), py::arg("candidates"), py::arg("weights") = DifferenceWeights{},
      R"(nearest(colours: ArrayLike, candidates: ArrayLike, weights: DifferenceWeights = ...) -> tuple[NDArray[np.int64], _Floats]

Row of the nearest of `candidates` (m, 3) by CIEDE2000, and its difference, both (…,) for colours
(…, 3). Of equally near ones the first; -1 and NaN where a colour has a NaN.

>>> row, de00 = nearest([[70, 1, 15], [61, 1, 15]], [[60, 1, 15], [70, 1, 15]])
>>> row
array([1, 0])
)");
}

}  // namespace

void bind_formulas(py::module_& m) {
  bind_names<Surround>(m);
  bind_names<Application94>(m);
  bind_names<Formula>(m);
  bind_spaces(m);
  bind_other_differences(m);
  bind_jacobians(m);
  bind_indices(m);
}

}  // namespace mamelon::python

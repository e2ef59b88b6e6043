// Further formulas of the colour layer: other spaces and differences, carried covariances,
// metamerism, indices, and the nearest of many colours.

#include <limits>

#include "mamelon/appearance.h"
#include "mamelon/batch.h"
#include "mamelon/difference.h"

#include "bindings.h"
#include "rows3.h"
#include "run.h"
#include "values.h"

namespace mamelon::python {

namespace {

// A 3×3 matrix a row.
template <class Function>
py::object map_matrices(const std::vector<Rows>& arguments, Function f) {
  return map_rows(arguments, {3, 3}, [f](std::size_t count, const double* const* in, double* out) {
    for (std::size_t i = 0; i < count; ++i) {
      const Mat3 m = f(in, 3 * i);
      for (std::size_t k = 0; k < 9; ++k) out[9 * i + k] = m[k / 3][k % 3];
    }
  });
}

void bind_spaces(py::module_& m) {
  m.def(
      "to_din99o",
      [](const py::object& lab) {
        return map_rows({rows(lab, 3, "lab")}, {3},
                        [](std::size_t count, const double* const* in, double* out) {
                          for (std::size_t i = 0; i < 3 * count; i += 3) {
                            const Din99o d = to_din99o(lab_at(in[0] + i));
                            put(out + i, d.l, d.a, d.b);
                          }
                        });
      },
      py::arg("lab"), R"(to_din99o(lab: ArrayLike) -> _Floats

DIN99o coordinates (DIN 6176:2018, ke = kch = 1) of CIELAB, both (…, 3).

>>> to_din99o([0, 0, 0]).round(9) + 0.0
array([0., 0., 0.])
)");
  bind_value<Cam16Conditions>(m, R"(What CAM16 must know of the place.

>>> Cam16Conditions(white_point("D65/2"), 60, 0.2, "average").surround
'average'
)");
  m.def(
      "to_cam16_ucs",
      [](const py::object& xyz, const py::object& conditions) {
        const auto place = Convert<Cam16Conditions>::from_python(conditions, "conditions");
        return map_rows({rows(xyz, 3, "xyz")}, {3},
                        [place](std::size_t count, const double* const* in, double* out) {
                          for (std::size_t i = 0; i < 3 * count; i += 3) {
                            const Cam16Ucs c = to_cam16_ucs(xyz_at(in[0] + i), place);
                            put(out + i, c.j, c.a, c.b);
                          }
                        });
      },
      py::arg("xyz"), py::arg("conditions"),
      R"(to_cam16_ucs(xyz: ArrayLike, conditions: Cam16Conditions) -> _Floats

CAM16-UCS J', a', b' (…, 3) of tristimulus values (Li et al. 2017). Raises ArgumentError for
conditions out of range.

>>> place = Cam16Conditions(white_point("D65/2"), 60, 0.2, "average")
>>> float(to_cam16_ucs(white_point("D65/2"), place)[0].round(6))
100.0
)");
  m.def(
      "to_linear_srgb",
      [](const py::object& xyz, const py::object& white) {
        return map_rows({rows(xyz, 3, "xyz"), white_rows(white, "white")}, {3},
                        [](std::size_t count, const double* const* in, double* out) {
                          for (std::size_t i = 0; i < 3 * count; i += 3) {
                            const Vec3 rgb = to_linear_srgb(xyz_at(in[0] + i), xyz_at(in[1] + i));
                            put(out + i, rgb[0], rgb[1], rgb[2]);
                          }
                        });
      },
      py::arg("xyz"), py::arg("white"),
      R"(to_linear_srgb(xyz: ArrayLike, white: ArrayLike | Viewing | str) -> _Floats

Linear light sRGB (IEC 61966-2-1, unclipped), adapted to D65 by Bradford, both (…, 3).

>>> to_linear_srgb(white_point("A/2"), "A/2").round(6)
array([1., 1., 1.])
)");
  m.def(
      "from_linear_srgb",
      [](const py::object& rgb, const py::object& white) {
        return map_rows(
            {rows(rgb, 3, "rgb"), white_rows(white, "white")}, {3},
            [](std::size_t count, const double* const* in, double* out) {
              for (std::size_t i = 0; i < 3 * count; i += 3) {
                const double* row = in[0] + i;
                const Xyz xyz = from_linear_srgb({row[0], row[1], row[2]}, xyz_at(in[1] + i));
                put(out + i, xyz.x, xyz.y, xyz.z);
              }
            });
      },
      py::arg("rgb"), py::arg("white"),
      R"(from_linear_srgb(rgb: ArrayLike, white: ArrayLike | Viewing | str) -> _Floats

The inverse of `to_linear_srgb`.

>>> float(from_linear_srgb([1, 1, 1], "D65/2")[1].round(9))
1.0
)");
}

template <class Pair>
py::object pairs(const py::object& reference, const py::object& sample, Pair pair) {
  return map_rows({rows(reference, 3, "reference"), rows(sample, 3, "sample")}, {},
                  [pair](std::size_t count, const double* const* in, double* out) {
                    for (std::size_t i = 0; i < count; ++i)
                      out[i] = pair(in[0] + 3 * i, in[1] + 3 * i);
                  });
}

void bind_other_differences(py::module_& m) {
  m.def(
      "de94",
      [](const py::object& reference, const py::object& sample, const py::object& weights,
         const py::object& application) {
        const auto w = Convert<DifferenceWeights>::from_python(weights, "weights");
        const auto use = Convert<Application94>::from_python(application, "application");
        return pairs(reference, sample, [w, use](const double* a, const double* b) {
          return de94(lab_at(a), lab_at(b), w, use);
        });
      },
      py::arg("reference"), py::arg("sample"), py::arg("weights") = DifferenceWeights{},
      py::arg("application") = "graphic_arts",
      R"(de94(reference: ArrayLike, sample: ArrayLike, weights: DifferenceWeights = ..., application: _Application94 = ...) -> _Floats

CIE 1994 difference (CIE 116:1995) of CIELAB (…, 3), broadcast. Not symmetric.

>>> float(de94([70, 0, 0], [71, 0, 0]))
1.0
)");
  m.def(
      "de_cmc",
      [](const py::object& reference, const py::object& sample, const py::object& l,
         const py::object& c) {
        const double light = Convert<double>::from_python(l, "l");
        const double chroma = Convert<double>::from_python(c, "c");
        return pairs(reference, sample, [light, chroma](const double* a, const double* b) {
          return de_cmc(lab_at(a), lab_at(b), light, chroma);
        });
      },
      py::arg("reference"), py::arg("sample"), py::arg("l") = 2.0, py::arg("c") = 1.0,
      R"(de_cmc(reference: ArrayLike, sample: ArrayLike, l: float = ..., c: float = ...) -> _Floats

CMC(l:c) difference (ISO 105-J03) of CIELAB (…, 3), broadcast. Not symmetric.

>>> float(de_cmc([70, 0, 0], [70, 0, 0]))
0.0
)");
  m.def(
      "de_din99o",
      [](const py::object& reference, const py::object& sample) {
        return pairs(reference, sample, [](const double* a, const double* b) {
          return de_din99o(lab_at(a), lab_at(b));
        });
      },
      py::arg("reference"), py::arg("sample"),
      R"(de_din99o(reference: ArrayLike, sample: ArrayLike) -> _Floats

Distance in DIN99o of CIELAB (…, 3), broadcast (DIN 6176:2018, ke = kch = 1).

>>> float(de_din99o([70, 0, 0], [70, 0, 0]))
0.0
)");
  m.def(
      "de_cam16",
      [](const py::object& reference, const py::object& sample) {
        return pairs(reference, sample, [](const double* a, const double* b) {
          return de_cam16({a[0], a[1], a[2]}, {b[0], b[1], b[2]});
        });
      },
      py::arg("reference"), py::arg("sample"),
      R"(de_cam16(reference: ArrayLike, sample: ArrayLike) -> _Floats

Distance of CAM16-UCS coordinates (…, 3), broadcast.

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
  m.def(
      "difference",
      [](const py::object& reference, const py::object& sample, const py::object& formula) {
        const auto chosen = Convert<DifferenceFormula>::from_python(formula, "formula");
        return pairs(reference, sample, [chosen](const double* a, const double* b) {
          return difference(lab_at(a), lab_at(b), chosen);
        });
      },
      py::arg("reference"), py::arg("sample"), py::arg("formula"),
      R"(difference(reference: ArrayLike, sample: ArrayLike, formula: DifferenceFormula) -> _Floats

Difference of CIELAB (…, 3) by any formula, broadcast.

>>> float(difference([70, 0, 0], [70, 3, 4], DifferenceFormula("de76")))
5.0
)");
}

void bind_jacobians(py::module_& m) {
  m.def(
      "xyz_jacobian",
      [](const py::object& lab, const py::object& white) {
        return map_matrices({rows(lab, 3, "lab"), white_rows(white, "white")},
                            [](const double* const* in, std::size_t at) {
                              return xyz_jacobian(lab_at(in[0] + at), xyz_at(in[1] + at));
                            });
      },
      py::arg("lab"), py::arg("white"),
      R"(xyz_jacobian(lab: ArrayLike, white: ArrayLike | Viewing | str) -> _Floats

dXYZ/dLab (…, 3, 3) at `lab` (…, 3), rows X Y Z.

>>> xyz_jacobian([70, 1, 15], "D65/2").shape
(3, 3)
)");
  m.def(
      "lch_jacobian",
      [](const py::object& lab) {
        return map_matrices({rows(lab, 3, "lab")}, [](const double* const* in, std::size_t at) {
          return lch_jacobian(lab_at(in[0] + at));
        });
      },
      py::arg("lab"), R"(lch_jacobian(lab: ArrayLike) -> _Floats

dLCh/dLab (…, 3, 3) at `lab` (…, 3), h in degrees. Raises ArgumentError at zero chroma.

>>> lch_jacobian([70, 3, 4])[1].round(3)
array([0. , 0.6, 0.8])
)");
  m.def(
      "adaptation_matrix",
      [](const py::object& from_white, const py::object& to_white, const py::object& method) {
        const auto how = Convert<Adaptation>::from_python(method, "method");
        return map_matrices(
            {white_rows(from_white, "from_white"), white_rows(to_white, "to_white")},
            [how](const double* const* in, std::size_t at) {
              return adaptation_matrix(xyz_at(in[0] + at), xyz_at(in[1] + at), how);
            });
      },
      py::arg("from_white"), py::arg("to_white"), py::arg("method"),
      R"(adaptation_matrix(from_white: ArrayLike | Viewing | str, to_white: ArrayLike | Viewing | str, method: _Adaptation) -> _Floats

The matrix (…, 3, 3) that `adapt` multiplies by.

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
  const auto white_of = [](const py::object& white) {
    return is_viewing(white) ? white_point(Convert<Viewing>::from_python(white, "white"))
                             : Convert<Xyz>::from_python(white, "white");
  };
  m.def(
      "measured_lab",
      [white_of](const Measured<Xyz>& xyz, const py::object& white) {
        return measured_lab(xyz, white_of(white));
      },
      py::arg("xyz"), py::arg("white"),
      R"(measured_lab(xyz: MeasuredXyz, white: Xyz | Viewing | str | _Numbers) -> Measured

`to_lab` with both covariances carried by its Jacobian (JCGM 100:2008, 5.2).

>>> measured_lab(MeasuredXyz([0.4, 0.42, 0.38], np.eye(3) * 1e-6), "D65/2").sd().shape
(3,)
)");
  m.def(
      "measured_xyz",
      [white_of](const Measured<Lab>& lab, const py::object& white) {
        return measured_xyz(lab, white_of(white));
      },
      py::arg("lab"), py::arg("white"),
      R"(measured_xyz(lab: Measured, white: Xyz | Viewing | str | _Numbers) -> MeasuredXyz

`to_xyz` with both covariances carried.

>>> round(measured_xyz(Measured([100, 0, 0]), "D65/2").value.y, 12)
1.0
)");
  m.def(
      "measured_lch", [](const Measured<Lab>& lab) { return measured_lch(lab); }, py::arg("lab"),
      R"(measured_lch(lab: Measured) -> MeasuredLch

`to_lch` with both covariances carried.

>>> measured_lch(Measured([70, 3, 4])).value.c
5.0
)");
  m.def(
      "measured_adapted",
      [white_of](const Measured<Xyz>& xyz, const py::object& from_white, const py::object& to_white,
                 const py::object& method) {
        return measured_adapted(xyz, white_of(from_white), white_of(to_white),
                                Convert<Adaptation>::from_python(method, "method"));
      },
      py::arg("xyz"), py::arg("from_white"), py::arg("to_white"), py::arg("method"),
      R"(measured_adapted(xyz: MeasuredXyz, from_white: Xyz | Viewing | str | _Numbers, to_white: Xyz | Viewing | str | _Numbers, method: _Adaptation) -> MeasuredXyz

`adapt` with both covariances carried.

>>> measured_adapted(MeasuredXyz([0.4, 0.4, 0.4]), "E/2", "E/2", "cat16").value.x.__round__(9)
0.4
)");
}

void bind_indices(py::module_& m) {
  m.def(
      "grade_76",
      [](const py::object& difference) {
        return Convert<Grade>::to_python(
            grade_76(Convert<double>::from_python(difference, "de76")));
      },
      py::arg("de76"), R"(grade_76(de76: float) -> _Grade

The match of a ΔE*ab graded by its own thresholds.

>>> grade_76(2.0)
'acceptable'
)");
  m.def(
      "whiteness_index_dentistry",
      [](const py::object& lab) {
        return map_rows({rows(lab, 3, "lab")}, {},
                        [](std::size_t count, const double* const* in, double* out) {
                          for (std::size_t i = 0; i < count; ++i)
                            out[i] = whiteness_index_dentistry(lab_at(in[0] + 3 * i));
                        });
      },
      py::arg("lab"), R"(whiteness_index_dentistry(lab: ArrayLike) -> _Floats

Whiteness index for dentistry of CIELAB (…, 3) under D65/2; higher is whiter (Perez et al. 2016).

>>> float(whiteness_index_dentistry([100, 0, 0]).round(3))
51.1
)");
  m.def(
      "yellowness_e313",
      [](const py::object& xyz, const py::object& viewing) {
        const auto under = Convert<Viewing>::from_python(viewing, "viewing");
        return map_rows({rows(xyz, 3, "xyz")}, {},
                        [under](std::size_t count, const double* const* in, double* out) {
                          for (std::size_t i = 0; i < count; ++i)
                            out[i] = yellowness_e313(xyz_at(in[0] + 3 * i), under);
                        });
      },
      py::arg("xyz"), py::arg("viewing"),
      R"(yellowness_e313(xyz: ArrayLike, viewing: Viewing | str) -> _Floats

Yellowness index (ASTM E313) of tristimulus values (…, 3) under C or D65, else ArgumentError.

>>> bool(abs(yellowness_e313(white_point("D65/2"), "D65/2")) < 0.1)
True
)");
  bind_value<Metamerism>(
      m, R"(How far apart two specimens that match under one light fall under another.

>>> Metamerism("A/2", residual=0.1).residual
0.1
)");
  m.def(
      "special_metamerism",
      [](const py::object& reference, const py::object& sample, const py::object& reference_light,
         const py::object& lights, const py::object& formula) {
        return Convert<std::vector<Metamerism>>::to_python(
            special_metamerism(Convert<Reflectance>::from_python(reference, "reference"),
                               Convert<Reflectance>::from_python(sample, "sample"),
                               Convert<Illuminant>::from_python(reference_light, "reference_light"),
                               Convert<std::vector<Illuminant>>::from_python(lights, "lights"),
                               Convert<DifferenceFormula>::from_python(formula, "formula")));
      },
      py::arg("reference"), py::arg("sample"), py::arg("reference_light"), py::arg("lights"),
      py::arg("formula") = DifferenceFormula{},
      R"(special_metamerism(reference: Reflectance, sample: Reflectance, reference_light: Illuminant | str, lights: Sequence[Illuminant | str], formula: DifferenceFormula = ...) -> tuple[Metamerism, ...]

Special metamerism index, change in illuminant (CIE 015:2018): every light under 2°, then 10°.

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

// Functions of the colour layer: spectra, tristimulus values, CIELAB and display colour.

#include "mamelon/colour.h"

#include <limits>

#include "mamelon/batch.h"
#include "mamelon/reading.h"
#include "mamelon/viewing.h"

#include "bindings.h"
#include "rows3.h"
#include "values.h"

namespace mamelon::python {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

// Tristimulus values of rows of reflectances; rows with NaN give NaN.
void xyz_of_spectra(std::span<const double> values, const Grid& grid, const Viewing& viewing,
                    Integration integration, double* out) {
  const std::size_t count = values.size() / grid.count;
  std::vector<double> clean(values.begin(), values.end());
  std::vector<bool> missing(count);
  for (std::size_t i = 0; i < count; ++i) {
    double* row = clean.data() + i * grid.count;
    missing[i] = std::any_of(row, row + grid.count, [](double r) { return std::isnan(r); });
    if (missing[i]) std::fill(row, row + grid.count, 0.5);
    const bool in_range =
        std::all_of(row, row + grid.count, [](double r) { return r >= 0 && r <= 2; });
    if (!in_range || integration == Integration::sprague) {
      const Reflectance curve(grid, {row, row + grid.count});
      check_reflectance(curve, "reflectance");
      const Xyz xyz = to_xyz(curve, viewing, integration);
      put(out + 3 * i, xyz.x, xyz.y, xyz.z);
    }
  }
  if (integration == Integration::weighting)
    xyz_rows(clean, *weights(grid, viewing), {out, 3 * count}, 1);
  for (std::size_t i = 0; i < count; ++i)
    if (missing[i]) put(out + 3 * i, nan, nan, nan);
}

// Tristimulus values or CIELAB of rows of reflectances under a viewing.
py::object spectra_to(const py::object& values, const py::object& viewing, const py::object& grid,
                      const py::object& integration, bool lab) {
  const auto on = Convert<Grid>::from_python(grid, "grid");
  const auto under = Convert<Viewing>::from_python(viewing, "viewing");
  const auto how = Convert<Integration>::from_python(integration, "integration");
  const Xyz white = white_point(under);
  return map_rows({rows(values, on.count, "reflectance")}, {3},
                  [&](std::size_t count, const double* const* in, double* out) {
                    xyz_of_spectra({in[0], count * on.count}, on, under, how, out);
                    if (!lab) return;
                    for (std::size_t i = 0; i < 3 * count; i += 3) {
                      const Lab seen = to_lab(xyz_at(out + i), white);
                      put(out + i, seen.l, seen.a, seen.b);
                    }
                  });
}

py::object to_lab_any(const py::object& first, const py::object& second, const py::object& grid,
                      const py::object& integration) {
  if (py::isinstance<Lch>(first) && second.is_none())
    return py::cast(to_lab(first.cast<const Lch&>()));
  if (second.is_none()) throw ArgumentError("to_lab needs a white point or a viewing");
  if (py::isinstance<Reflectance>(first)) {
    return py::cast(to_lab(first.cast<const Reflectance&>(),
                           Convert<Viewing>::from_python(second, "viewing"),
                           Convert<Integration>::from_python(integration, "integration")));
  }
  if (!grid.is_none()) return spectra_to(first, second, grid, integration, true);
  return over_rows([](const Xyz& xyz, const White& white) { return to_lab(xyz, white); },
                   {{"xyz"}, {"white"}}, first, second);
}

py::object to_xyz_any(const py::object& first, const py::object& second, const py::object& grid,
                      const py::object& integration) {
  if (py::isinstance<Reflectance>(first)) {
    return py::cast(to_xyz(first.cast<const Reflectance&>(),
                           Convert<Viewing>::from_python(second, "viewing"),
                           Convert<Integration>::from_python(integration, "integration")));
  }
  if (!grid.is_none()) return spectra_to(first, second, grid, integration, false);
  return over_rows([](const Lab& lab, const White& white) { return to_xyz(lab, white); },
                   {{"lab"}, {"white"}}, first, second);
}

template <class Unit>
py::object resampled(const py::object& source, const Grid& grid, Interpolation interpolation,
                     Extrapolation extrapolation) {
  return py::cast(
      resample(source.cast<const Spectrum<Unit>&>(), grid, interpolation, extrapolation));
}

void bind_conversions(py::module_& m) {
  m.def("to_lab", &to_lab_any, py::arg("xyz"), py::arg("white") = py::none(), py::kw_only(),
        py::arg("grid") = py::none(), py::arg("integration") = "weighting",
        R"(to_lab(xyz: Lch) -> Lab
to_lab(xyz: Reflectance, white: Viewing | str, *, integration: _Integration = ...) -> Lab
to_lab(xyz: ArrayLike, white: ArrayLike | Viewing | str, *, grid: Grid | None = ..., integration: _Integration = ...) -> _Floats

CIELAB of tristimulus values, of reflectances, or of an Lch (ISO/CIE 11664-4).

`xyz` is (…, 3) with Y = 1 for the perfect diffuser and `white` (…, 3) or a viewing, whose white is
taken; or a Reflectance under a viewing; or, with `grid`, rows (…, n) of reflectances 0–1 under a
viewing. Rows with NaN stay NaN. Raises ArgumentError for a wrong shape or dtype or a reflectance
out of range.

>>> white = white_point("D65/2")
>>> to_lab(white, white).round(6) + 0.0
array([100.,   0.,   0.])
>>> to_lab([[0.5] * 31], "D65/2", grid=Grid(400, 10, 31)).shape
(1, 3)
)");
  m.def("to_xyz", &to_xyz_any, py::arg("lab"), py::arg("white"), py::kw_only(),
        py::arg("grid") = py::none(), py::arg("integration") = "weighting",
        R"(to_xyz(lab: Reflectance, white: Viewing | str, *, integration: _Integration = ...) -> Xyz
to_xyz(lab: ArrayLike, white: ArrayLike | Viewing | str, *, grid: Grid | None = ..., integration: _Integration = ...) -> _Floats

Tristimulus values of CIELAB (…, 3) under a white, or of reflectances under a viewing.

With `grid`, the first argument is rows (…, n) of reflectances 0–1. `integration` is `weighting`
(ASTM E2022 tables, used as E308) or `sprague` (CIE 167:2005). Raises ArgumentError for a wrong
shape or dtype or a reflectance out of range.

>>> float(to_xyz([100, 0, 0], "D65/2")[1].round(12))
1.0
)");
  define_rows(m, "to_lch", to_lch, py::arg("lab"),
              R"(Lightness, chroma and hue angle in degrees of CIELAB, both (…, 3).

>>> to_lch([70, 0, 18])
array([70., 18., 90.])
)");
  define_rows(
      m, "lch_to_lab", [](const Lch& lch) { return to_lab(lch); }, py::arg("lch"),
      R"(CIELAB of lightness, chroma and hue angle in degrees, both (…, 3).

>>> lch_to_lab([70, 18, 180]).round(9) + 0.0
array([ 70., -18.,   0.])
)");
  define_rows(
      m, "lab_jacobian",
      [](const Xyz& xyz, const White& white) { return lab_jacobian(xyz, white); }, py::arg("xyz"),
      py::arg("white"), R"(dLab/dXYZ (…, 3, 3) at `xyz` (…, 3), rows L a b.

>>> lab_jacobian([0.4, 0.4, 0.4], "D65/2").shape
(3, 3)
)");
  define_rows(
      m, "adapt",
      [](const Xyz& xyz, const White& from, const White& to, Adaptation method) {
        return adapt(xyz, from, to, method);
      },
      py::arg("xyz"), py::arg("from_white"), py::arg("to_white"), py::arg("method"),
      R"(Full von Kries adaptation of tristimulus values (…, 3) from one white to another.

>>> adapt(white_point("A/2"), "A/2", "D65/2", "cat16").round(9) == np.round(white_point("D65/2"), 9)
array([ True,  True,  True])
)");
}

void bind_display(py::module_& m) {
  define_rows(
      m, "to_display",
      [](const Lab& lab, const White& white) {
        const DisplayColour c = to_display(lab, white);
        return std::array{c.r, c.g, c.b, c.clipped ? 1.0 : 0.0};
      },
      py::arg("lab"), py::arg("white"),
      R"(sRGB for a display (IEC 61966-2-1), adapted to D65 by Bradford: (…, 4) of r, g, b in 0–1 after
clipping, and 1 where the colour lies outside the sRGB gamut, else 0.

>>> to_display([100, 0, 0], "D50/2").round(3)
array([1., 1., 1., 0.])
)");
  define(
      m, "to_hex",
      [](const Lab& lab, const White& white) { return to_hex(to_display(lab, white)); },
      py::arg("lab"), py::arg("white"), R"(One colour for a display as `#rrggbb`.

>>> to_hex([100, 0, 0], "D65/2")
'#ffffff'
)");
}

void bind_lights(py::module_& m) {
  define(m, "standard_illuminant", standard_illuminant, py::arg("name"),
         R"(A CIE illuminant by name (CIE 015:2018). Raises ArgumentError naming the known ones.

>>> standard_illuminant("D65")
Illuminant('D65')
)");
  define(m, "standard_illuminant_names", standard_illuminant_names,
         R"(Names that `standard_illuminant` knows.

>>> "LED-B3" in standard_illuminant_names()
True
)");
  define(m, "daylight", daylight, py::arg("cct_k"),
         R"(Daylight of correlated colour temperature 4000–25000 K (CIE 015:2018, 4.1.2).

>>> len(daylight(6000).power) > 3
True
)");
  define(m, "white_point", white_point, py::arg("viewing"),
         R"(Tristimulus values of the perfect reflecting diffuser, Y = 1, by 1 nm summation.

>>> round(white_point("D65/2").y, 12)
1.0
)");
  m.def(
      "weights",
      [](const py::object& grid, const py::object& viewing) {
        const auto table = weights(Convert<Grid>::from_python(grid, "grid"),
                                   Convert<Viewing>::from_python(viewing, "viewing"));
        std::vector<double> columns;
        for (std::size_t i = 0; i < table->x.size(); ++i)
          columns.insert(columns.end(), {table->x[i], table->y[i], table->z[i]});
        return copied_array(columns.data(), {table->x.size(), 3});
      },
      py::arg("grid"), py::arg("viewing"),
      R"(weights(grid: Grid, viewing: Viewing | str) -> NDArray[np.float64]

Weights (n, 3) with XYZ = R @ weights for reflectances on `grid` (ASTM E2022, used as E308).

>>> weights(Grid(380, 10, 41), "D65/2").sum(axis=0).round(3)
array([0.95 , 1.   , 1.089])
)");
  m.def(
      "resample",
      [](const py::object& spectrum, const py::object& grid, const py::object& interpolation,
         const py::object& extrapolation) {
        const auto on = Convert<Grid>::from_python(grid, "grid");
        const auto how = Convert<Interpolation>::from_python(interpolation, "interpolation");
        const auto ends = Convert<Extrapolation>::from_python(extrapolation, "extrapolation");
        if (py::isinstance<Reflectance>(spectrum))
          return resampled<unit::Reflectance>(spectrum, on, how, ends);
        if (py::isinstance<PerMm>(spectrum)) return resampled<unit::PerMm>(spectrum, on, how, ends);
        if (py::isinstance<Power>(spectrum)) return resampled<unit::Power>(spectrum, on, how, ends);
        wrong_type("spectrum", "a Reflectance, PerMm or Power", spectrum);
      },
      py::arg("spectrum"), py::arg("grid"), py::arg("interpolation"), py::arg("extrapolation"),
      R"(resample(spectrum: _Spectrum, grid: Grid, interpolation: _Interpolation, extrapolation: _Extrapolation) -> _Spectrum

The spectrum on another grid. `sprague` is the fifth-order form of CIE 167:2005 and needs 6 bands;
`cubic` is the natural cubic spline. Outside the source's range: `error`, `hold` or `zero`.

>>> ramp = Reflectance(Grid(400, 20, 11), np.linspace(0.1, 0.6, 11))
>>> resample(ramp, Grid(400, 10, 21), "linear", "error").values[1].round(4)
np.float64(0.125)
)");
}

}  // namespace

void bind_colour(py::module_& m) {
  bind_names<Adaptation>(m);
  bind_names<Integration>(m);
  bind_names<Interpolation>(m);
  bind_names<Extrapolation>(m);
  bind_conversions(m);
  bind_display(m);
  bind_lights(m);
}

}  // namespace mamelon::python

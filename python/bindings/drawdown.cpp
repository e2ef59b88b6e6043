// Optical constants of a paste from drawdowns.

#include "bindings.h"
#include "describe_drawdown.h"
#include "run.h"

namespace mamelon::python {

void bind_drawdown(py::module_& m) {
  bind_names<Geometry>(m);
  bind_names<Backing>(m);
  bind_value<Drawdown>(m, R"(One reading of one specimen over one backing.

>>> grey = Reflectance(Grid(400, 10, 31), [0.5] * 31)
>>> Drawdown("disc 1", 1.0, "diffuse_8_excluded", "seen_in_air", grey, grey).thickness_sd_mm
0.02
)");
  bind_value<SpecimenThickness>(m, R"(Thickness of one specimen as fitted.

>>> SpecimenThickness("disc 1", 1.01, 0.01).thickness_mm
1.01
)");
  bind_value<PasteFit>(m, "Kubelka–Munk constants with what is known of them.");
  m.def(
      "fit_paste",
      [](const py::object& drawdowns, const py::object& refractive_index,
         const py::object& scattering_bend_sd, const py::object& absorption_bend_sd,
         const py::object& model_sd) {
        PasteFitOptions options;
        options.refractive_index =
            Convert<double>::from_python(refractive_index, "refractive_index");
        options.scattering_bend_sd =
            Convert<double>::from_python(scattering_bend_sd, "scattering_bend_sd");
        options.absorption_bend_sd =
            Convert<double>::from_python(absorption_bend_sd, "absorption_bend_sd");
        options.model_sd = Convert<double>::from_python(model_sd, "model_sd");
        return interruptibly(
            [given = Convert<std::vector<Drawdown>>::from_python(drawdowns, "drawdowns"), options] {
              return fit_paste(given, options);
            });
      },
      py::arg("drawdowns"), py::kw_only(),
      py::arg("refractive_index") = PasteFitOptions{}.refractive_index,
      py::arg("scattering_bend_sd") = PasteFitOptions{}.scattering_bend_sd,
      py::arg("absorption_bend_sd") = PasteFitOptions{}.absorption_bend_sd,
      py::arg("model_sd") = PasteFitOptions{}.model_sd,
      R"(fit_paste(drawdowns: Sequence[Drawdown], *, refractive_index: float = ..., scattering_bend_sd: float = ..., absorption_bend_sd: float = ..., model_sd: float = ...) -> PasteFit

Absorption and scattering of a paste from specimens over two or more backings, all bands at once.

Maximum a posteriori with the thickness errors as unknowns. Raises ArgumentError for fewer than two
readings or backings, unequal grids, an unstated geometry or backing or values out of range,
ModelError when the fit does not settle.)");
}

}  // namespace mamelon::python

// Spectra as instruments give them: irregular steps, bandpass, errors of bands.

#include "mamelon/reading.h"

#include "bindings.h"
#include "define.h"
#include "values.h"

namespace mamelon::python {

void bind_spectra(py::module_& m) {
  define(
      m, "resample_irregular",
      [](const std::vector<double>& wavelengths_nm, const std::vector<double>& values,
         const Grid& grid, Interpolation interpolation, Extrapolation extrapolation) {
        return resample_irregular<unit::Reflectance>(wavelengths_nm, values, grid, interpolation,
                                                     extrapolation);
      },
      py::arg("wavelengths_nm"), py::arg("values"), py::arg("grid"), py::arg("interpolation"),
      py::arg("extrapolation"),
      R"(Reflectances measured at irregular wavelengths, on a uniform grid, linear or cubic. Raises
ArgumentError unless the wavelengths rise strictly with one finite value each.

>>> resample_irregular([400, 410, 430], [0.2, 0.3, 0.5], Grid(400, 10, 4), "linear", "error").values
array([0.2, 0.3, 0.4, 0.5])
)");
  define(
      m, "correct_bandpass", correct_bandpass, py::arg("reflectance"),
      R"(A reflectance corrected for a triangular passband as wide as the step (Stearns and Stearns 1988).
Most instruments do this in their firmware; doing it twice sharpens falsely.

>>> grey = Reflectance(Grid(400, 10, 31), [0.5] * 31)
>>> bool(abs(correct_bandpass(grey).values - 0.5).max() < 1e-12)
True
)");
  define(
      m, "xyz_covariance",
      [](const Grid& grid, const Viewing& viewing, const std::vector<double>& band_sd) {
        return xyz_covariance(*weights(grid, viewing), band_sd);
      },
      py::arg("grid"), py::arg("viewing"), py::arg("band_sd"),
      R"(Covariance (3, 3) of the tristimulus values when each band has an independent error of `band_sd` (n,).

>>> xyz_covariance(Grid(400, 10, 31), "D65/2", [0.001] * 31).shape
(3, 3)
)");
  define(m, "cie_tables_digest", cie_tables_digest,
         R"(SHA-256 of the CIE tables that the library was built with.

>>> len(cie_tables_digest())
64
)");
}

}  // namespace mamelon::python

// Readings: the value that every measurement ends in.

#include "mamelon/reading.h"

#include "bindings.h"
#include "define.h"
#include "values.h"

namespace mamelon::python {

void bind_reading(py::module_& m) {
  bind_names<SurfaceKind>(m);
  auto measured = bind_value<Measured<Lab>>(m, R"(A colour with the two parts of its uncertainty.

`random` shrinks when readings are averaged, `shared` (calibration, card, model) does not. Raises
ArgumentError for matrices that are not covariances.

>>> Measured([70, 1, 15], random=np.eye(3) * 0.04).sd().round(3)
array([0.2, 0.2, 0.2])
)");
  measured.def(
      "covariance",
      [](const Measured<Lab>& self) { return Convert<Mat3>::to_python(self.covariance()); },
      "covariance(self) -> NDArray[np.float64]\n\nrandom + shared: of one value taken alone.");
  measured.def(
      "sd", [](const Measured<Lab>& self) { return Convert<Vec3>::to_python(self.sd()); },
      "sd(self) -> NDArray[np.float64]\n\nStandard deviations of the components of covariance().");

  bind_value<Reading>(
      m,
      R"(The colour of one thing (a tooth zone, a tab, a specimen), from a camera or an instrument.

>>> Reading(label="disc", lab=Measured([70, 1, 15]), viewing="D65/2")
Reading(label='disc', lab=Measured(…), viewing='D65/2', zone='', reflectance=None, count=1, warnings=(), …)
)");
  define(
      m, "combine", combine, py::arg("repeats"),
      R"(One reading from repeats of the same thing: the mean, the sample covariance / n as the random part,
and the largest shared part. Raises ArgumentError for no repeats or mixed viewings.

>>> once = Reading("disc", Measured([70, 1, 15]), "D65/2")
>>> twice = Reading("disc", Measured([71, 1, 15]), "D65/2")
>>> combine([once, twice]).lab.value
Lab(l=70.5, a=1, b=15)
)");
  define(m, "read_spectrum", read_spectrum, py::arg("label"), py::arg("reflectance"),
         py::arg("viewing"),
         R"(The reading of a reflectance under a viewing, with no stated uncertainty.

>>> grey = Reflectance(Grid(400, 10, 31), [0.5] * 31)
>>> round(read_spectrum("grey", grey, "D65/2").lab.value.l, 2)
76.07
)");
  define_long(
      m, "estimate_reflectance", estimate_reflectance, py::arg("lab"), py::arg("viewing"),
      py::arg("grid"),
      R"(The smoothest physically plausible reflectance with this colour. Raises ModelError where none
within [0.001, 0.999] reaches it within ΔE*ab 0.01.

>>> curve = estimate_reflectance([70, 1, 15], "D65/2", Grid(400, 10, 31))
>>> bool(de76(to_lab(curve, "D65/2"), [70, 1, 15]) < 0.01)
True
)");
  define(m, "viewing_from_string", viewing_from_string, py::arg("text"),
         R"(`D65/2`, `A/10`, … as a viewing. Raises ArgumentError for an unknown name.

>>> viewing_from_string("A/10").observer
'deg10'
)");
  define(
      m, "library_version", [] { return std::string(library_version()); },
      R"(Version of the library, `major.minor.patch`.

>>> library_version().count(".")
2
)");
  define(
      m, "sha256_hex", [](const Bytes& data) { return sha256_hex(std::string_view(data.held)); },
      py::arg("data"), R"(SHA-256 (FIPS 180-4) as 64 lower-case hexadecimal digits.

>>> sha256_hex(b"abc")[:8]
'ba7816bf'
)");
  define(
      m, "make_provenance", make_provenance, py::arg("step"), py::arg("settings"),
      py::arg("inputs"),
      R"(The link for a step of your own: `settings` is canonical text of every argument that matters,
`inputs` are digests in a fixed order.

>>> make_provenance("mean", "n=3", []) == make_provenance("mean", "n=3", [])
True
)");
}

}  // namespace mamelon::python

// Classes of the colour layer: colours, spectra, lights and viewing conditions.

#include "values.h"

#include "mamelon/difference.h"
#include "mamelon/reading.h"

#include "bindings.h"

namespace mamelon::python {

namespace {

std::vector<double> wavelengths_of(const Grid& grid) {
  std::vector<double> nm;
  for (std::size_t i = 0; i < grid.count; ++i) nm.push_back(grid.wavelength_nm(i));
  return nm;
}

template <class Unit>
void bind_spectrum(py::module_& m, const char* doc) {
  using T = Spectrum<Unit>;
  ValueClass<T> cls(m, Fields<Spectrum<Unit>>::name, doc);
  cls.def(py::init([](const py::object& grid, const py::object& values) {
            const std::string where = std::string(Fields<Spectrum<Unit>>::name) + ".";
            return std::make_shared<T>(
                Convert<Grid>::from_python(grid, where + "grid"),
                Convert<std::vector<double>>::from_python(values, where + "values"));
          }),
          py::arg("grid"), py::arg("values"),
          "__init__(self, grid: Grid, values: ArrayLike) -> None");
  add_property_of(cls, "grid", &T::grid, "of the wavelengths");
  cls.def_property_readonly(
      "values",
      [](const std::shared_ptr<T>& self) {
        return viewed_array(self->values().data(), "d", sizeof(double), {self->size()}, self);
      },
      "NDArray[np.float64]: one value a band, read-only");
  add_property_of(
      cls, "wavelengths_nm", [](const T& self) { return wavelengths_of(self.grid()); },
      "wavelength of each band in nm");
  cls.def("__len__", &T::size, "__len__(self) -> int");
  cls.def(
      "__array__",
      [](const py::object& self, const py::object& dtype, const py::object&) {
        const py::object values = self.attr("values");
        return dtype.is_none() ? values : values.attr("astype")(dtype);
      },
      py::arg("dtype") = py::none(), py::arg("copy") = py::none(),
      "__array__(self, dtype: DTypeLike = ..., copy: bool | None = ...) -> NDArray[np.float64]");
  pickle_by(cls, {"grid", "values"});
  cls.def("__repr__", [](const T& self) { return Convert<T>::repr(self); });
  bind_common(cls, Fields<Spectrum<Unit>>::name);
}

void bind_illuminant(py::module_& m) {
  ValueClass<Illuminant> cls(m, "Illuminant", R"(A light: its name and relative spectral power.

>>> import numpy as np
>>> flat = Illuminant("flat", Power(Grid(400, 10, 31), np.ones(31)))
>>> flat.name
'flat'
)");
  cls.def(py::init([](const py::object& name, const py::object& power) {
            return std::make_shared<Illuminant>(
                Convert<std::string>::from_python(name, "Illuminant.name"),
                Convert<Power>::from_python(power, "Illuminant.power"));
          }),
          py::arg("name"), py::arg("power"), "__init__(self, name: str, power: Power) -> None");
  add_property_of(cls, "name", &Illuminant::name, "of the light");
  add_property_of(cls, "power", &Illuminant::power, "relative spectral power");
  pickle_by(cls, {"name", "power"});
  cls.def("__repr__", [](const Illuminant& self) { return Convert<Illuminant>::repr(self); });
  bind_common(cls, "Illuminant");
}

void bind_viewing(py::module_& m) {
  ValueClass<Viewing> cls(m, "Viewing",
                          R"(The conditions of a colour statement: illuminant and observer.

Made from both, or from a text such as `D65/2` or `A/10`. Wherever a viewing is asked for, that
text may stand for it.

>>> Viewing("D65/2") == Viewing(standard_illuminant("D65"), "deg2")
True
>>> str(Viewing("A/10"))
'A/10'
)");
  cls.def(
      py::init([](const py::object& illuminant, const py::object& observer) {
        if (observer.is_none())
          return std::make_shared<Viewing>(Convert<Viewing>::from_python(illuminant, "Viewing"));
        return std::make_shared<Viewing>(
            Viewing{Convert<Illuminant>::from_python(illuminant, "Viewing.illuminant"),
                    Convert<Observer>::from_python(observer, "Viewing.observer")});
      }),
      py::arg("illuminant"), py::arg("observer") = py::none(),
      "__init__(self, illuminant: Illuminant | str, observer: _Observer | None = ...) -> None");
  add_property_of(cls, "illuminant", &Viewing::illuminant, "the light");
  add_property_of(cls, "observer", &Viewing::observer, "deg2 (CIE 1931) or deg10 (CIE 1964)");
  cls.def("__str__", [](const Viewing& self) { return to_string(self); });
  cls.def("__repr__",
          [](const Viewing& self) { return "Viewing(" + in_quotes(to_string(self)) + ")"; });
  pickle_by(cls, {"illuminant", "observer"});
  bind_common(cls, "Viewing");
}

}  // namespace

void bind_values(py::module_& m) {
  bind_names<Observer>(m);
  bind_value<Provenance>(
      m, R"(How a value was made: one link of a hash chain without clocks, hosts or paths.

Two values with equal `digest` were made by the same step of the same library version from the
same inputs with the same settings.

>>> Provenance(step="lab", digest="0" * 64).step
'lab'
)");
  bind_numbers<Lab>(m, R"(CIELAB coordinates (ISO/CIE 11664-4).

>>> colour = Lab(70, 2, 18)
>>> colour.b, list(colour)
(18.0, [70.0, 2.0, 18.0])
)");
  bind_numbers<Xyz>(m, R"(CIE tristimulus values; Y = 1 for the perfect reflecting diffuser.

>>> Xyz(0.4, 0.42, 0.38).y
0.42
)");
  bind_numbers<Lch>(m, R"(CIELAB in cylindrical form; the hue is 0 for an achromatic colour.

>>> Lch(70, 18, 84).h_deg
84.0
)");
  bind_value<DifferenceWeights>(
      m, R"(Parametric factors of CIEDE2000; 1:1:1 and 2:1:1 are in use in dentistry.

>>> DifferenceWeights(kl=2)
DifferenceWeights(kl=2, kc=1, kh=1)
)");
  auto grid = bind_value<Grid>(m, R"(A uniform wavelength grid.

Raises ArgumentError unless it has at least 3 bands, a step above 0 and at most 20 nm, and lies
within 200–2500 nm.

>>> Grid(400, 10, 31).last_nm
700.0
)");
  add_property_of(grid, "last_nm", &Grid::last_nm, "last wavelength in nm");
  add_property_of(grid, "wavelengths_nm", wavelengths_of, "every wavelength in nm");
  bind_spectrum<unit::Reflectance>(
      m, R"(Reflectance as a fraction of the perfect reflecting diffuser, 0–1, on a grid.

>>> grey = Reflectance(Grid(400, 10, 31), [0.5] * 31)
>>> grey
Reflectance(400–700 nm step 10, 31 bands)
)");
  bind_spectrum<unit::PerMm>(m, R"(Absorption or scattering per millimetre on a grid.

>>> len(PerMm(Grid(400, 100, 4), [2.0, 1.5, 1.2, 1.0]))
Traceback (most recent call last):
    ...
mamelon.ArgumentError: ...
>>> len(PerMm(Grid(400, 20, 4), [2.0, 1.5, 1.2, 1.0]))
4
)");
  bind_spectrum<unit::Power>(m, R"(Relative spectral power on a grid.

>>> Power(Grid(400, 20, 4), [1, 2, 3, 4]).values
array([1., 2., 3., 4.])
)");
  bind_illuminant(m);
  bind_viewing(m);
}

}  // namespace mamelon::python

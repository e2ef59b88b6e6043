// Pastes, layers and the reflectance they show.

#include "mamelon/paste.h"
#include "mamelon/stack.h"
#include "mamelon/transport.h"

#include "bindings.h"
#include "define.h"
#include "run.h"
#include "values.h"

namespace mamelon::python {

namespace {

// What was made ready with what it was made from, by which it is pickled.
struct ReadyPastes {
  ReadyPastes(std::vector<Paste> given, int count)
      : pastes(std::move(given)), streams(count), prepared(pastes, streams) {}
  std::vector<Paste> pastes;
  int streams;
  PreparedPastes prepared;
};

template <class Function>
py::object map_numbers(const py::object& values, const char* name, Function f) {
  return map_rows({rows(values, 0, name)}, {},
                  [f](std::size_t count, const double* const* in, double* out) {
                    for (std::size_t i = 0; i < count; ++i) out[i] = f(in[0][i]);
                  });
}

void check_not_negative(const Rows& argument, const std::string& where) {
  const auto check = [&](const auto* data) {
    for (std::size_t i = 0; i < argument.numbers.size(); ++i)
      if (data[i] < 0)
        throw ArgumentError(where + " must be 0 or more, not " +
                            short_number(static_cast<double>(data[i])));
  };
  if (argument.numbers.single)
    check(static_cast<const float*>(argument.numbers.data()));
  else
    check(static_cast<const double*>(argument.numbers.data()));
}

void bind_optics(py::module_& m) {
  m.def(
      "layer_optics",
      [](const py::object& k_per_mm, const py::object& s_per_mm, const py::object& thickness_mm) {
        const std::vector<Rows> arguments = {rows(k_per_mm, 0, "k_per_mm"),
                                             rows(s_per_mm, 0, "s_per_mm"),
                                             rows(thickness_mm, 0, "thickness_mm")};
        check_not_negative(arguments[0], "k_per_mm");
        check_not_negative(arguments[1], "s_per_mm");
        check_not_negative(arguments[2], "thickness_mm");
        return map_rows(arguments, {2},
                        [](std::size_t count, const double* const* in, double* out) {
                          for (std::size_t i = 0; i < count; ++i) {
                            const LayerOptics o = layer_optics(in[0][i], in[1][i], in[2][i]);
                            out[2 * i] = o.r0;
                            out[2 * i + 1] = o.t;
                          }
                        });
      },
      py::arg("k_per_mm"), py::arg("s_per_mm"), py::arg("thickness_mm"),
      R"(layer_optics(k_per_mm: ArrayLike, s_per_mm: ArrayLike, thickness_mm: ArrayLike) -> _Floats

Reflectance over an ideal black and transmittance (…, 2) of Kubelka–Munk layers, inside the material.

The three arguments broadcast; each is 0 or more, else ArgumentError (Kubelka 1948).

>>> layer_optics(0, 1, 1)
array([0.5, 0.5])
)");
  m.def(
      "over",
      [](const py::object& layer, const py::object& floor) {
        return map_rows({rows(layer, 2, "layer"), rows(floor, 0, "floor")}, {},
                        [](std::size_t count, const double* const* in, double* out) {
                          for (std::size_t i = 0; i < count; ++i)
                            out[i] = over({in[0][2 * i], in[0][2 * i + 1]}, in[1][i]);
                        });
      },
      py::arg("layer"), py::arg("floor"), R"(over(layer: ArrayLike, floor: ArrayLike) -> _Floats

Reflectance of a layer (…, 2) from `layer_optics` in contact with a floor of internal reflectance.

>>> float(over([0.5, 0.5], 1.0))
1.0
)");
  m.def(
      "stacked",
      [](const py::object& upper, const py::object& lower) {
        return map_rows(
            {rows(upper, 3, "upper"), rows(lower, 3, "lower")}, {3},
            [](std::size_t count, const double* const* in, double* out) {
              for (std::size_t i = 0; i < 3 * count; i += 3) {
                const double* u = in[0] + i;
                const double* l = in[1] + i;
                const TwoSidedOptics both = stacked({u[0], u[1], u[2]}, {l[0], l[1], l[2]});
                out[i] = both.r_top;
                out[i + 1] = both.r_bottom;
                out[i + 2] = both.t;
              }
            });
      },
      py::arg("upper"), py::arg("lower"), R"(stacked(upper: ArrayLike, lower: ArrayLike) -> _Floats

Two layers as one, each (…, 3) of reflectance from above, from below, and transmittance (Kubelka 1954).

>>> stacked([0.5, 0.5, 0.5], [0, 0, 1])
array([0.5, 0.5, 0.5])
)");
  define(m, "interface_of", interface_of, py::arg("refractive_index"), py::arg("specular_included"),
         R"(interface_of(refractive_index: float, specular_included: bool) -> Interface

Fresnel constants of a smooth surface. Raises ArgumentError for an index out of range.

>>> round(interface_of(1.5, False).k2, 4)
0.5963
)");
  m.def(
      "to_measured",
      [](const py::object& internal, const py::object& surface) {
        const auto s = Convert<Interface>::from_python(surface, "surface");
        return map_numbers(internal, "internal", [s](double r) { return to_measured(r, s); });
      },
      py::arg("internal"), py::arg("surface"),
      R"(to_measured(internal: ArrayLike, surface: Interface) -> _Floats

What an instrument outside reads of internal reflectances (Saunderson 1942).

>>> float(to_measured(1.0, Interface()).round(6))
0.96
)");
  m.def(
      "to_internal",
      [](const py::object& measured, const py::object& surface) {
        const auto s = Convert<Interface>::from_python(surface, "surface");
        return map_numbers(measured, "measured", [s](double r) { return to_internal(r, s); });
      },
      py::arg("measured"), py::arg("surface"),
      R"(to_internal(measured: ArrayLike, surface: Interface) -> _Floats

The inverse of `to_measured`; negative where `measured` lies below an included k1.

>>> float(to_internal(to_measured(0.4, Interface()), Interface()).round(12))
0.4
)");
}

}  // namespace

void bind_material(py::module_& m) {
  bind_names<Role>(m);
  bind_names<Engine>(m);
  bind_value<ColourShift>(m, R"(How the colour of a paste changes after it was measured.

>>> ColourShift("week", (-1.2, 0.2, 1.5), (0.5, 0.2, 0.6)).thickness_mm
2.0
)");
  bind_value<Paste>(
      m, R"(A cured paste: absorption and scattering per mm on one grid, and how it is placed.

Raises ArgumentError for K below 0, S not above 0, a refractive index outside 1.3–1.8 or limits out
of order. Increment limit and radiant exposure are the maker's: follow the instructions for use.

>>> grid = Grid(400, 10, 31)
>>> Paste("Harvest", "dentine", PerMm(grid, [0.1] * 31), PerMm(grid, [3.0] * 31)).role
'dentine'
)");
  auto set = bind_value<PasteSet>(m, R"(Pastes on one wavelength grid.

>>> grid = Grid(400, 10, 31)
>>> paste = Paste("Harvest", "dentine", PerMm(grid, [0.1] * 31), PerMm(grid, [3.0] * 31))
>>> len(PasteSet("one", [paste]))
1
)");
  set.def(
      "__len__", [](const PasteSet& self) { return self.pastes.size(); }, "__len__(self) -> int");
  bind_value<Interface>(m, R"(The surface between material and air (Saunderson 1942).

>>> Interface().k1
0.04
)");
  bind_value<Layer>(m, R"(One paste at one thickness.

>>> grid = Grid(400, 10, 31)
>>> paste = Paste("Harvest", "dentine", PerMm(grid, [0.1] * 31), PerMm(grid, [3.0] * 31))
>>> Layer(paste, 1.5).thickness_mm
1.5
)");
  bind_value<Stack>(m, R"(Layers from the floor outward over a floor in optical contact.

>>> grid = Grid(400, 10, 31)
>>> paste = Paste("Harvest", "dentine", PerMm(grid, [0.1] * 31), PerMm(grid, [3.0] * 31))
>>> len(Stack(Reflectance(grid, [0.3] * 31), [Layer(paste, 1.5)]).layers)
1
)");
  bind_value<ConstantsMode>(m, R"(A way in which fitted constants err together, by one sd.

>>> ConstantsMode([0.01] * 31, [0.002] * 31).anisotropy
0.0
)");
  bind_value<TransportConstants>(m, R"(Constants of radiative transfer on a grid.

>>> grid = Grid(400, 10, 31)
>>> TransportConstants(PerMm(grid, [0.05] * 31), PerMm(grid, [4.0] * 31)).anisotropy
0.6
)");
  bind_value<Medium>(m, R"(A turbid medium at one wavelength.

>>> Medium(0.05, 10, 0.6).anisotropy
0.6
)");
  bind_value<SlabTotals>(
      m, R"(Reflectance and transmittance of a slab in air, surface reflections included.

>>> SlabTotals(0.3, 0.5, 0.35, 0.45).t_normal
0.5
)");
  define(
      m, "slab_totals", slab_totals, py::arg("medium"), py::arg("thickness_mm"),
      py::arg("refractive_index"), py::arg("streams") = 4,
      R"(slab_totals(medium: Medium, thickness_mm: float, refractive_index: float, streams: int = ...) -> SlabTotals

The whole of what a slab does to light, by discrete ordinates with `streams` (4, 6, 8, 16 or 32) per
hemisphere (δ–M, Wiscombe 1977). Raises ArgumentError for an argument out of range.

>>> slab = slab_totals(Medium(0.0, 5.0, 0.0), 1.0, 1.0)
>>> round(slab.r_diffuse + slab.t_diffuse, 9)
1.0
)");
  m.def(
      "predict",
      [](const std::shared_ptr<Stack>& stack, const py::object& engine, const py::object& streams) {
        return interruptibly([stack, by = Convert<Engine>::from_python(engine, "engine"),
                              count = Convert<int>::from_python(streams, "streams")] {
          return predict(*stack, by, count);
        });
      },
      py::arg("stack"), py::arg("engine") = "kubelka_munk", py::arg("streams") = 4,
      R"(predict(stack: Stack, engine: _Engine = ..., streams: int = ...) -> Reflectance

The reflectance seen outside, by two fluxes (kubelka_munk) or by discrete ordinates (transport),
which needs every paste's `transport`. Raises ArgumentError for no layer, unequal grids or a
thickness that is not positive, ModelError for more than 30 mm in all.

>>> grid = Grid(400, 10, 31)
>>> paste = Paste("Harvest", "dentine", PerMm(grid, [0.1] * 31), PerMm(grid, [3.0] * 31))
>>> len(predict(Stack(Reflectance(grid, [0.3] * 31), [Layer(paste, 1.5)])))
31
)");
  m.def(
      "extrapolations",
      [](const std::shared_ptr<Stack>& stack) {
        return Convert<std::vector<std::string>>::to_python(extrapolations(*stack));
      },
      py::arg("stack"),
      R"(extrapolations(stack: Stack) -> tuple[str, ...]

A sentence for each layer whose thickness lies outside those its paste was fitted to.)");
  bind_value<PreparedLayer>(m, R"(Layer of a paste of a PreparedPastes.

>>> PreparedLayer(0, 1.5).thickness_mm
1.5
)");
  py::class_<ReadyPastes, std::shared_ptr<ReadyPastes>>(
      m, "PreparedPastes",
      R"(Pastes made ready for the prediction of many stacks by transport; immutable.)")
      .def(py::init([](const py::object& pastes, const py::object& streams) {
             return std::make_shared<ReadyPastes>(
                 Convert<std::vector<Paste>>::from_python(pastes, "pastes"),
                 Convert<int>::from_python(streams, "streams"));
           }),
           py::arg("pastes"), py::arg("streams") = 4,
           "__init__(self, pastes: Sequence[Paste], streams: int = ...) -> None")
      .def("__reduce__",
           [](const py::object& self) {
             const auto& ready = self.cast<const ReadyPastes&>();
             return py::make_tuple(
                 py::type::of(self),
                 py::make_tuple(Convert<std::vector<Paste>>::to_python(ready.pastes),
                                ready.streams));
           })
      .def(
          "predict",
          [](const std::shared_ptr<ReadyPastes>& self, const py::object& floor,
             const py::object& layers, bool specular_included) {
            return interruptibly(
                [self, under = Convert<Reflectance>::from_python(floor, "floor"),
                 over = Convert<std::vector<PreparedLayer>>::from_python(layers, "layers"),
                 specular_included] {
                  return self->prepared.predict(under, over, specular_included);
                });
          },
          py::arg("floor"), py::arg("layers"), py::arg("specular_included") = false,
          R"(predict(self, floor: Reflectance, layers: Sequence[PreparedLayer], specular_included: bool = ...) -> Reflectance

The bits of `predict(stack, "transport", streams)` for the same stack.)");
  bind_optics(m);
}

}  // namespace mamelon::python

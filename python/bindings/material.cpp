// Pastes, layers and the reflectance they show.

#include "mamelon/paste.h"
#include "mamelon/stack.h"
#include "mamelon/transport.h"

#include "bindings.h"
#include "rows3.h"
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

void check_not_negative(double value, const char* name) {
  if (value < 0)
    throw ArgumentError(std::string(name) + " must be 0 or more, not " + short_number(value));
}

void bind_optics(py::module_& m) {
  define_rows(
      m, "layer_optics",
      [](EachNumber k_per_mm, EachNumber s_per_mm, EachNumber thickness_mm) {
        check_not_negative(k_per_mm, "k_per_mm");
        check_not_negative(s_per_mm, "s_per_mm");
        check_not_negative(thickness_mm, "thickness_mm");
        return layer_optics(k_per_mm, s_per_mm, thickness_mm);
      },
      py::arg("k_per_mm"), py::arg("s_per_mm"), py::arg("thickness_mm"),
      R"(Reflectance over an ideal black and transmittance (…, 2) of Kubelka–Munk layers, inside the material.

The three arguments broadcast; each is 0 or more, else ArgumentError (Kubelka 1948).

>>> layer_optics(0, 1, 1)
array([0.5, 0.5])
)");
  define_rows(
      m, "over", [](const LayerOptics& layer, EachNumber floor) { return over(layer, floor); },
      py::arg("layer"), py::arg("floor"),
      R"(Reflectance of a layer (…, 2) from `layer_optics` in contact with a floor of internal reflectance.

>>> float(over([0.5, 0.5], 1.0))
1.0
)");
  define_rows(
      m, "stacked", stacked, py::arg("upper"), py::arg("lower"),
      R"(Two layers as one, each (…, 3) of reflectance from above, from below, and transmittance (Kubelka 1954).

>>> stacked([0.5, 0.5, 0.5], [0, 0, 1])
array([0.5, 0.5, 0.5])
)");
  define(m, "interface_of", interface_of, py::arg("refractive_index"), py::arg("specular_included"),
         R"(Fresnel constants of a smooth surface. Raises ArgumentError for an index out of range.

>>> round(interface_of(1.5, False).k2, 4)
0.5963
)");
  define_rows(
      m, "to_measured",
      [](EachNumber internal, const Interface& surface) { return to_measured(internal, surface); },
      py::arg("internal"), py::arg("surface"),
      R"(What an instrument outside reads of internal reflectances (Saunderson 1942).

>>> float(to_measured(1.0, Interface()).round(6))
0.96
)");
  define_rows(
      m, "to_internal",
      [](EachNumber measured, const Interface& surface) { return to_internal(measured, surface); },
      py::arg("measured"), py::arg("surface"),
      R"(The inverse of `to_measured`; negative where `measured` lies below an included k1.

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
      R"(The whole of what a slab does to light, by discrete ordinates with `streams` (4, 6, 8, 16 or 32) per
hemisphere (δ–M, Wiscombe 1977). Raises ArgumentError for an argument out of range.

>>> slab = slab_totals(Medium(0.0, 5.0, 0.0), 1.0, 1.0)
>>> round(slab.r_diffuse + slab.t_diffuse, 9)
1.0
)");
  define_long(
      m, "predict",
      [](const std::shared_ptr<Stack>& stack, Engine engine, int streams) {
        return predict(*stack, engine, streams);
      },
      py::arg("stack"), py::arg("engine") = "kubelka_munk", py::arg("streams") = 4,
      R"(The reflectance seen outside, by two fluxes (kubelka_munk) or by discrete ordinates (transport),
which needs every paste's `transport`. Raises ArgumentError for no layer, unequal grids or a
thickness that is not positive, ModelError for more than 30 mm in all.

>>> grid = Grid(400, 10, 31)
>>> paste = Paste("Harvest", "dentine", PerMm(grid, [0.1] * 31), PerMm(grid, [3.0] * 31))
>>> len(predict(Stack(Reflectance(grid, [0.3] * 31), [Layer(paste, 1.5)])))
31
)");
  define(
      m, "extrapolations",
      [](const std::shared_ptr<Stack>& stack) { return extrapolations(*stack); }, py::arg("stack"),
      R"(A sentence for each layer whose thickness lies outside those its paste was fitted to.)");
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

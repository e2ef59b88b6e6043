// From a target colour, a floor and a depth to layers and increments.

#include "mamelon/plan.h"

#include "bindings.h"
#include "define.h"
#include "reports.h"
#include "run.h"

namespace mamelon::python {

void bind_plan(py::module_& m) {
  bind_names<PlacingOrder>(m);
  bind_names<Portion>(m);
  bind_value<Placing>(m, R"(How a cavity is filled and cured.

>>> Placing("oblique").contact_wall
False
)");
  bind_value<Floor>(m, "A prepared floor, with what is not known of it.");
  bind_value<LayerGain>(m, "What plans of so many layers come to.");
  bind_value<PartingTie>(m, "Two plans alike under the target's light that part under another.");
  bind_value<OutOfReach>(m, "Why no allowed plan is acceptable.");
  bind_value<PlanRequest>(m,
                          "What to plan: the target colour, the pastes, the floor and the depth.");
  bind_value<PlannedLayer>(m, R"(One layer of a plan.

>>> PlannedLayer("Harvest", "dentine", 1.5).thickness_mm
1.5
)");
  bind_value<Increment>(m, R"(One portion of paste, cured before the next goes on.

>>> Increment(1, "Harvest", 1.5, exposure_j_cm2=16).exposure_s is None
True
)");
  bind_value<PredictedColour>(m, R"(Colour of a filling under one illuminant, beside its target.

>>> PredictedColour("D65/2", lab=Lab(70, 1, 15), target=Lab(70, 1, 15), de00=0).viewing
Viewing('D65/2')
)");
  bind_value<ContactWall>(m, "The wall towards the neighbour, in the outermost paste.");
  bind_value<Plan>(m, "Layers from the floor outward with their increments and predicted colours.");
  bind_value<PlanSet>(m, "Plans, the one recommended and why.");
  define(
      m, "plan",
      [](const std::shared_ptr<PlanRequest>& request) {
        return [request](const Progress& go_on) { return plan(*request, go_on); };
      },
      py::arg("request"),
      R"(Searches all ordered stacks of pastes whose thicknesses add up to the depth.

Raises ArgumentError for a depth, limits or grids out of range and ModelError for a depth above
20 mm or one that no allowed stack fills.)");
  define(
      m, "recommended",
      [](const std::vector<std::size_t>& layers, const std::vector<double>& de00,
         const std::vector<double>& de00_rms) {
        if (layers.size() != de00.size() || layers.size() != de00_rms.size()) {
          throw ArgumentError("recommended: layers, de00 and de00_rms have " +
                              std::to_string(layers.size()) + ", " + std::to_string(de00.size()) +
                              " and " + std::to_string(de00_rms.size()) +
                              " items; give one of each a plan");
        }
        std::vector<PlanFigures> plans;
        for (std::size_t i = 0; i < layers.size(); ++i) {
          plans.push_back({layers[i], de00[i], de00_rms[i]});
        }
        return recommended(plans);
      },
      py::arg("layers"), py::arg("de00"), py::arg("de00_rms"),
      R"(Index of the plan to recommend, of plans in the order of their number of `layers` and, within one
number, of `de00_rms`, what is expected; `de00` is that as planned. `plan` recommends by it: the
fewest layers of an acceptable plan, and one more where it is expected visibly nearer; where none is
acceptable, the fewest that are not visibly worse. Raises ArgumentError for no plan or lengths that
differ.

>>> recommended([1, 2], [1.5, 0.4], [1.9, 1.3])
0
>>> recommended([1, 2], [2.5, 0.4], [2.9, 1.3])
1
)");
  define(
      m, "is_as_good", is_as_good, py::arg("plan"), py::arg("recommended"),
      R"(Whether a plan is as good as the one recommended: expected within a tenth of the perceptibility
threshold of it, or nearer, and acceptable as planned where that one is.)");
  define(
      m, "floor_of", floor_of, py::arg("reading"), py::arg("grid"),
      R"(The floor of a reading on the pastes' grid: its curve where it has one, else the smoothest
reflectance of its colour, with errors from the covariance. Raises ModelError where no reflectance
has that colour.)");
  define_long(
      m, "plan_zones",
      [](const std::shared_ptr<PlanRequest>& request, const std::vector<std::string>& pastes,
         const std::vector<Reading>& readings, const std::vector<double>& depths_mm) {
        return plan_zones(*request, pastes, readings, depths_mm);
      },
      py::arg("request"), py::arg("pastes"), py::arg("readings"),
      py::arg("depths_mm") = py::tuple(),
      R"(The same pastes, from the floor outward, in other zones of a tooth, each with its own thicknesses
and, where given, its own depth. Raises ArgumentError for a paste that the set lacks and ModelError
where the pastes' limits do not fill a depth.)");
  define(
      m, "predict_plan",
      [](const std::shared_ptr<PlanRequest>& request, const std::vector<PlannedLayer>& layers) {
        return predict_plan(*request, layers);
      },
      py::arg("request"), py::arg("layers"),
      R"(What a given stack comes to in place of a search: of `layers`, from the floor outward, paste and
thickness are read. Raises ArgumentError for no layer, a paste that the set lacks or a thickness that
is not above 0, and as `plan` does.)");
  bind_value<DepthPlans>(m, "One filling of uneven depth: the same pastes at every depth.");
  define(
      m, "plan_depths",
      [](const std::shared_ptr<PlanRequest>& request, const std::vector<double>& depths_mm) {
        return [=](const Progress& go_on) { return plan_depths(*request, depths_mm, go_on); };
      },
      py::arg("request"), py::arg("depths_mm"),
      R"(Plans two or three depths of one cavity, cusp and fossa, with the same pastes chosen for all of them
together. Raises ArgumentError for another number of depths, and as `plan` does.)");
  bind_value<CrosswalkRow>(m, "One tab's recipes, and which of them to take.");
  define(
      m, "crosswalk",
      [](const std::shared_ptr<TabSet>& tabs, const std::shared_ptr<PlanRequest>& request) {
        return [=](const Progress& go_on) { return crosswalk(*tabs, *request, go_on); };
      },
      py::arg("tabs"), py::arg("request"),
      R"(The best plan of every number of layers for each tab, in the tabs' order: the table from tab to
paste. Everything but the target comes from `request`. Raises ArgumentError and as `plan` does.)");
  define(
      m, "increments_of",
      [](const Paste& paste, double thickness_mm, const std::optional<Placing>& placing,
         int first_order) {
        return increments_of(paste, thickness_mm, placing.value_or(Placing{}), first_order);
      },
      py::arg("paste"), py::arg("thickness_mm"), py::kw_only(), py::arg("placing") = py::none(),
      py::arg("first_order") = 1,
      R"(Cuts one layer into portions no thicker than the paste's limit, floor first, of equal thickness,
in the order that `placing` says.

>>> grid = Grid(400, 10, 31)
>>> paste = Paste("Harvest", "dentine", PerMm(grid, [0.1] * 31), PerMm(grid, [3.0] * 31))
>>> [step.thickness_mm for step in increments_of(paste, 3.0)]
[1.5, 1.5]
)");
}

}  // namespace mamelon::python

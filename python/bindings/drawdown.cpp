// Optical constants of a paste from drawdowns.

#include "mamelon/drawdown.h"

#include <filesystem>

#include <pybind11/stl/filesystem.h>

#include "mamelon/opacity.h"
#include "mamelon/paste_report.h"
#include "mamelon/shift.h"

#include "bindings.h"
#include "define.h"
#include "table_options.h"
#include "values.h"

namespace mamelon::python {

namespace {

DrawdownWords drawdown_words(const std::optional<TextPairs>& given) {
  return given ? DrawdownWords(given->begin(), given->end()) : DrawdownWords();
}

}  // namespace

void bind_drawdown(py::module_& m) {
  bind_names<Geometry>(m);
  bind_names<Backing>(m);
  bind_names<Face>(m);
  bind_value<Aperture>(m, R"(Circles that an instrument lights and sees, as diameters in mm.

>>> Aperture(8, 4).seen_mm
4.0
)");
  bind_value<Drawdown>(m, R"(One reading of one specimen over one backing.

>>> grey = Reflectance(Grid(400, 10, 31), [0.5] * 31)
>>> Drawdown("disc 1", 1.0, "d:8 excluded", "seen_in_air", grey, grey).thickness_sd_mm
0.02
)");
  bind_value<SpecimenThickness>(m, R"(Thickness of one specimen as fitted.

>>> SpecimenThickness("disc 1", 1.01, 0.01).thickness_mm
1.01
)");
  bind_value<PasteFit>(m, "A paste's constants with what is known of them.");
  bind_value<FittedPrediction>(m, "A predicted colour with all that is known of its error.");
  bind_value<Opacity>(m, R"(How much of what lies under a layer shows through it.

>>> Opacity(1.0, 11.0, 15.0, 0.55, 6.2).contrast_ratio
0.55
)");
  define(
      m, "average_repeats", average_repeats, py::arg("drawdowns"),
      R"(Repeats of one specimen, geometry and backing as their mean, with the noise that they show.)");
  define(
      m, "share_errors",
      [](std::vector<Drawdown> drawdowns, const std::vector<double>& covariance) {
        share_errors(drawdowns, covariance);
        return drawdowns;
      },
      py::arg("drawdowns"), py::arg("covariance"),
      R"(Drawdowns whose `measured_lab` err together, with `lab_shared` and `lab_sd` from the joint covariance
of `read_discs`. Raises ArgumentError for a drawdown without one, more than 32 or a covariance of
another size than 9 n².)");
  define_long(
      m, "fit_paste",
      [](const std::vector<Drawdown>& drawdowns, Engine engine, int streams,
         double refractive_index, double scattering_bend_sd, double absorption_bend_sd,
         double model_sd, const std::optional<Viewing>& viewing, double refractive_index_sd,
         double scale_sd, double backing_sd, double loss_sd) {
        return fit_paste(drawdowns, {.engine = engine,
                                     .streams = streams,
                                     .refractive_index = refractive_index,
                                     .refractive_index_sd = refractive_index_sd,
                                     .scale_sd = scale_sd,
                                     .backing_sd = backing_sd,
                                     .loss_sd = loss_sd,
                                     .scattering_bend_sd = scattering_bend_sd,
                                     .absorption_bend_sd = absorption_bend_sd,
                                     .model_sd = model_sd,
                                     .viewing = viewing});
      },
      py::arg("drawdowns"), py::kw_only(), py::arg("engine") = "kubelka_munk",
      py::arg("streams") = PasteFitOptions{}.streams,
      py::arg("refractive_index") = PasteFitOptions{}.refractive_index,
      py::arg("scattering_bend_sd") = PasteFitOptions{}.scattering_bend_sd,
      py::arg("absorption_bend_sd") = PasteFitOptions{}.absorption_bend_sd,
      py::arg("model_sd") = PasteFitOptions{}.model_sd, py::arg("viewing") = py::none(),
      py::arg("refractive_index_sd") = PasteFitOptions{}.refractive_index_sd,
      py::arg("scale_sd") = PasteFitOptions{}.scale_sd,
      py::arg("backing_sd") = PasteFitOptions{}.backing_sd,
      py::arg("loss_sd") = PasteFitOptions{}.loss_sd,
      R"(Absorption and scattering of a paste from specimens over two or more backings, all bands at once.

Maximum a posteriori with the thickness errors as unknowns; by transport g is one more, 0.6 with sd
0.25 where the drawdowns do not tell it, and so are the refractive index, the scale of the
instrument, the level of the backings read in air and the edge loss, with the sds given. Drawdowns
without an aperture are fitted under the usual ones and averaged. `viewing` is that of every
`measured_lab`. Raises ArgumentError for fewer than two readings or backings, unequal grids, an
unstated geometry or backing or values out of range, ModelError when the fit does not settle or does
not explain the readings, with the likeliest cause.)");
  define_long(
      m, "read_drawdowns",
      [](const std::filesystem::path& file, const Viewing& viewing,
         const std::optional<TextPairs>& columns, const std::optional<TextPairs>& words,
         std::optional<double> resample_nm) {
        return read_drawdowns(file, viewing, drawdown_words(words),
                              {resample_nm, columns.value_or(TextPairs{})});
      },
      py::arg("file"), py::arg("viewing"), py::kw_only(), py::arg("columns") = py::none(),
      py::arg("words") = py::none(), py::arg("resample_nm") = py::none(),
      R"(Drawdowns from a CSV, ISO 28178 text or a CxF3 file as `mamelon paste fit` takes it; `viewing` is
that of L, a, b. `columns` says what columns mean (meaning: header), `words` gives the file's own
words for columns and cells (ours: theirs), and spectra are brought to even steps of `resample_nm`.
Raises DataError naming file and place of all that is wrong, ArgumentError for a column that is not
there, OSError when the file cannot be read.)");
  define_long(
      m, "parse_drawdowns",
      [](const std::string& text, const std::string& source, const Viewing& viewing,
         const std::optional<TextPairs>& columns, const std::optional<TextPairs>& words,
         std::optional<double> resample_nm) {
        return parse_drawdowns(text, source, viewing, drawdown_words(words),
                               {resample_nm, columns.value_or(TextPairs{})});
      },
      py::arg("text"), py::arg("source"), py::arg("viewing"), py::kw_only(),
      py::arg("columns") = py::none(), py::arg("words") = py::none(),
      py::arg("resample_nm") = py::none(), R"(The same from text; `source` names it in messages.)");
  bind_value<FitReport>(m, "Everything a fit of one paste found.");
  define_long(
      m, "fit_report",
      [](const std::string& name, Role role, const std::vector<Drawdown>& drawdowns,
         const Viewing& viewing, double refractive_index) {
        return fit_report(name, role, drawdowns, viewing, refractive_index);
      },
      py::arg("name"), py::arg("role"), py::arg("drawdowns"), py::arg("viewing"),
      py::arg("refractive_index") = 1.5,
      R"(Fits both engines to one paste's drawdowns (repeats are averaged) and describes it, for `to_json`
and `sheet_html`. Raises as `fit_paste`.)");
  define(
      m, "paste_of",
      [](const std::string& name, Role role, const PasteFit& kubelka_munk,
         const std::optional<PasteFit>& transport) {
        return paste_of(name, role, kubelka_munk, transport ? &*transport : nullptr);
      },
      py::arg("name"), py::arg("role"), py::arg("kubelka_munk"), py::arg("transport") = py::none(),
      R"(A paste with the constants of one fit, or of a fit by each engine to the same drawdowns.)");
  m.def(
      "predict_fitted",
      [](const py::object& floor, const py::object& layers, const py::object& viewing,
         const py::object& streams) {
        std::vector<PasteFit> fits;
        std::vector<FittedLayer> fitted;
        const std::vector<py::object> items = items_of(layers, "layers");
        fits.reserve(items.size());
        for (const py::object& item : items) {
          if (!py::isinstance<py::sequence>(item) || py::len(item) != 3)
            wrong_type("layers", "a sequence of (fit, thickness_mm, sd_mm)", item);
          const auto parts = py::reinterpret_borrow<py::sequence>(item);
          const auto fit = Convert<PasteFit>::from_python(py::object(parts[0]), "layers");
          // The same fit twice is one paste, whose errors go together.
          const PasteFit* known = nullptr;
          for (const PasteFit& earlier : fits)
            if (Convert<PasteFit>::same(earlier, fit)) known = &earlier;
          if (known == nullptr) known = &fits.emplace_back(fit);
          fitted.push_back({known,
                            Convert<double>::from_python(py::object(parts[1]), "thickness_mm"),
                            Convert<double>::from_python(py::object(parts[2]), "sd_mm")});
        }
        return predict_fitted(Convert<Reflectance>::from_python(floor, "floor"), fitted,
                              Convert<Viewing>::from_python(viewing, "viewing"),
                              Convert<int>::from_python(streams, "streams"));
      },
      py::arg("floor"), py::arg("layers"), py::arg("viewing"), py::arg("streams") = 4,
      R"(predict_fitted(floor: Reflectance, layers: Sequence[tuple[PasteFit, float, float]], viewing: Viewing | str, streams: int = ...) -> FittedPrediction

Reflectance and colour (d:8) of layers (fit, thickness in mm, its sd) from the floor outward, with
the error of the constants, of the thicknesses and of the engine.)");
  define(
      m, "predict_with_error",
      [](const Stack& stack, const std::optional<std::vector<double>>& thickness_sd_mm,
         const Viewing& viewing, std::optional<Engine> engine, int streams) {
        return predict_with_error(
            stack, thickness_sd_mm.value_or(std::vector<double>(stack.layers.size())), viewing,
            engine.value_or(best_engine(stack)), streams);
      },
      py::arg("stack"), py::arg("thickness_sd_mm"), py::arg("viewing"),
      py::arg("engine") = py::none(), py::arg("streams") = 4,
      R"(Reflectance and colour of a stack with the error of its pastes' constants, of the thicknesses (one
sd a layer, in mm; None: exact) and of the engine. Without an engine transport is used where every
paste has constants for it.)");
  define(m, "opacity", opacity, py::arg("paste"), py::arg("engine"), py::arg("viewing"),
         py::arg("thickness_mm") = 1.0, py::arg("black") = 0.0, py::arg("white") = 1.0,
         R"(Translucency, contrast ratio and the depth that hides the floor, over floors of internal
reflectance `black` and `white` in optical contact.)");
  bind_value<Masking>(m, R"(How thin an opaque paste masks a floor.

>>> Masking(0.42, 0.1, 5).coats
5
)");
  define(
      m, "masking", masking, py::arg("paste"), py::arg("engine"), py::arg("floor"),
      py::arg("viewing"), py::arg("coat_mm") = 0.1, py::arg("de00") = threshold::perceptible_de00,
      R"(The least thickness of a paste over `floor` (internal reflectance, in optical contact) from which
its colour differs from that of the paste alone by at most `de00`, and the coats of `coat_mm` that
reach it with 95 %. None where 30 mm do not. Raises ArgumentError unless `coat_mm` lies in 0.01 to 2
and `de00` above 0.)");
  define(
      m, "shifted",
      [](const Paste& paste, const std::string& name) { return shifted(paste, name); },
      py::arg("paste"), py::arg("name"),
      R"(The paste after its shift `name`: its constants moved so that the specimen has the changed colour,
the shift's spread among the modes of their errors. Raises ArgumentError where the paste has no such
shift, ModelError where no constants give it.)");
}

}  // namespace mamelon::python

// Cases, their reports, and the way from one to the other.

#include <pybind11/stl/filesystem.h>

#include "mamelon/files.h"
#include "mamelon/outcome.h"
#include "mamelon/region.h"

#include "bindings.h"
#include "define.h"
#include "photos.h"
#include "run.h"
#include "values.h"

namespace mamelon::python {

// A file as it was given is bytes in Python.
template <>
struct Convert<GivenFile> {
  static std::string in_type() { return "bytes"; }
  static std::string out_type() { return "bytes"; }
  static py::object to_python(const GivenFile& value) {
    return py::bytes(reinterpret_cast<const char*>(value.bytes().data()), value.bytes().size());
  }
  static GivenFile from_python(py::handle object, const std::string& where) {
    if (!PyBytes_Check(object.ptr())) wrong_type(where, "bytes", object);
    const auto text = py::cast<std::string_view>(object);
    const auto bytes = std::as_bytes(std::span(text));
    return GivenFile({bytes.begin(), bytes.end()});
  }
  static bool same(const GivenFile& a, const GivenFile& b) { return a == b; }
  static std::size_t hash(const GivenFile& value) {
    return std::hash<std::string>{}(value.sha256());
  }
  static std::string repr(const GivenFile& value) {
    return "<" + std::to_string(value.bytes().size()) + " bytes>";
  }
};

namespace {

void bind_report(py::module_& m) {
  bind_value<ToothReport>(m, "What was found of one tooth.");
  const TypeOps& type = type_ops<Report>();
  ValueClass<Report> cls(m, type.name, R"(What came out of a case; `solve` makes one.

A pickled report holds the photo as it was given, whose card is found again when it is loaded.

>>> teeth = [CaseTooth(readings=[Reading("tooth", Measured([70, 1, 15]), "D65/2")])]
>>> solve(Case(viewing="D65/2", teeth=teeth)).teeth[0].readings[0].lab.value
Lab(l=70, a=1, b=15)
)");
  add_fields(cls, type);
  add_common(cls, type);
  add_property_of(cls, "notes", all_notes, "what else to know");
  add_property_of(
      cls, "card_loo_de00_median",
      [](const Report& self) {
        return self.fit ? std::optional(self.fit->loo_de00_median) : std::nullopt;
      },
      "of the card's patches, each left out in turn; None without a photo");
  add_property_of(cls, "answered", is_answered, "whether what was asked has a good answer");
  add_method(cls, "__repr__", [](const Report& self) {
    return "Report(" + std::to_string(self.teeth.size()) + " teeth)";
  });
  add_method(cls, "__reduce__", [m, &type](const Report& self) {
    return py::make_tuple(m.attr("_report_again"), field_values(&self, type));
  });
  m.def(
      "_report_again",
      [&type](const py::args& values) {
        Report report = blank<Report>();
        fill(&report, type, values, {}, true);
        if (report.photographed) {
          const PhotoWithFit made =
              interruptibly([of = report.photographed] { return fit_photo(*of); });
          report.photo = *made.photo;
          report.fit = *made.fit;
        }
        return std::make_shared<Report>(std::move(report));
      },
      "_report_again(*values: Any) -> Report\n\nRestores a pickled report.");
}

// With a function to tell, the work is done on the calling thread, and Ctrl-C ends it at a step.
std::shared_ptr<Report> solve_with(const py::object& of, const py::object& progress) {
  const auto given = Argument<std::shared_ptr<Case>>::taken(of, "case");
  if (progress.is_none()) {
    return std::make_shared<Report>(interruptibly([given] { return solve(*given); }));
  }
  const py::gil_scoped_release release;
  return std::make_shared<Report>(solve(*given, [&](double share, std::string_view step) {
    const py::gil_scoped_acquire acquire;
    if (PyErr_CheckSignals() != 0) throw py::error_already_set();
    return py::cast<bool>(py::bool_(progress(share, step)));
  }));
}

// A case has too many fields for their order to be known by heart: each is given by its name.
void take_names_only(const py::object& cls) {
  const py::object filled = cls.attr("__init__");
  std::string doc = py::cast<std::string>(filled.attr("__doc__"));
  doc.insert(doc.find("(self") + 5, ", *");
  const auto filled_by_name = [filled](const py::object& self, const py::args& unnamed,
                                       const py::kwargs& fields) {
    if (!unnamed.empty()) {
      throw py::type_error("a case's fields are given by name: Case(viewing=…, teeth=…)");
    }
    filled(self, **fields);
  };
  // Not under the name __init__, which would make it a constructor of its own.
  cls.attr("__init__") =
      py::cpp_function(filled_by_name, py::name("fill"), py::is_method(cls), doc.c_str());
  add_method(cls, "__reduce__", [cls](const py::object& self) {
    py::dict fields;
    for (const py::handle name : cls.attr("__match_args__")) fields[name] = self.attr(name);
    const py::object partial = py::module_::import("functools").attr("partial");
    return py::make_tuple(partial(cls, **fields), py::tuple());
  });
}

}  // namespace

void bind_case(py::module_& m) {
  bind_value<ToothHint>(m, "Where a tooth is in the photo: one of a point, a box and a mask.");
  bind_value<MatchOptions>(m, "How tabs are ranked.");
  bind_value<CasePhoto>(m, "A photo as it was given: the bytes of its file.");
  bind_value<TabInPhoto>(m, "A tab of the case's set that stands in the photo in place of a card.");
  bind_value<CaseTooth>(m, R"(One tooth: where it is in the photo, or readings of it.

>>> CaseTooth(number=21, at=ToothHint(point=(820, 400))).number
21
)");
  bind_value<CaseFloor>(m, "The prepared floor: one of a curve, a colour and a region of a photo.");
  bind_value<WeighedLight>(m, "A light that counts beside the target's own.");
  bind_value<Restoration>(m, "What is to be placed in the prepared cavity.");
  bind_value<PasteLot>(m, "The lot that stands on a paste's syringe.");
  bind_value<ChairNotes>(m, "What is written on the chair's card; no figure depends on it.");
  bind_value<PlacedLayer>(m, "One layer as it was placed.");
  bind_names<Stage>(m);
  bind_value<TryIn>(m, R"(A try-in or a finished restoration: a photo, or a reading, of it.

>>> TryIn(date="2026-11-28", layers=[PlacedLayer("fawn", 2)]).stage
'try_in'
)");
  bind_value<TryInReport>(m, "A try-in beside its target and its prediction.");
  bind_value<OwnLight>(
      m, R"(A light of the person's own, which the viewings of a case's file call by name.

>>> OwnLight("lamp", Power(Grid(400, 20, 4), [1, 2, 3, 4])).name
'lamp'
)");
  bind_value<GridSize>(m, "Rows and columns read over a tooth in the place of its thirds.");
  take_names_only(
      bind_value<Case>(m, R"(Everything a person gives of a case; `solve` makes its report.

>>> teeth = [CaseTooth(readings=[Reading("tooth", Measured([70, 1, 15]), "D65/2")])]
>>> len(Case(viewing="D65/2", teeth=teeth).teeth)
1
)"));
  bind_report(m);
  m.def("solve", &solve_with, py::arg("case"), py::kw_only(), py::arg("progress") = py::none(),
        R"(solve(case: Case, *, progress: Callable[[float, str], bool] | None = ...) -> Report

Reads, ranks and plans. `progress` is told the share that is done, 0–1, and what is done next; where
it returns False the work ends with StoppedError. Raises ArgumentError for a case that cannot be
solved, DataError and CaptureError for a photo, ModelError for a plan.

>>> teeth = [CaseTooth(readings=[Reading("tooth", Measured([70, 1, 15]), "D65/2")])]
>>> solve(Case(viewing="D65/2", teeth=teeth), progress=lambda share, step: False)
Traceback (most recent call last):
    ...
mamelon.StoppedError: ...
)");
  define_long(
      m, "compare_try_in",
      [](const std::shared_ptr<Case>& given, const std::shared_ptr<Report>& report,
         const std::shared_ptr<TryIn>& seen) { return compare_try_in(*given, *report, *seen); },
      py::arg("case"), py::arg("report"), py::arg("try_in"),
      R"(Reads a try-in of a case and holds it against the case's report. Raises ArgumentError where it has
not one of photo and reading, or is of another zone or viewing, and as `solve` does.

>>> teeth = [CaseTooth(readings=[Reading("tooth", Measured([70, 1, 15]), "D65/2")])]
>>> case = Case(viewing="D65/2", teeth=teeth)
>>> seen = TryIn(reading=Reading("tooth", Measured([71, 1, 15]), "D65/2"))
>>> round(compare_try_in(case, solve(case), seen).to_target.dl, 2)
0.77
)");
  define(
      m, "digest", [](const std::shared_ptr<Case>& given) { return digest_of(*given); },
      py::arg("case"), R"(SHA-256 of everything that a case holds.)");
  define(
      m, "parse_mask",
      [](const Bytes& png, const std::string& source) { return parse_mask(png.held, source); },
      py::arg("png"), py::arg("source"),
      R"(A picture as a mask, from PNG: inside where it is bright. `source` names it in messages. Raises
DataError for what is no PNG or has no bright pixel.)");
  define_long(
      m, "read_case", read_case, py::arg("file"),
      R"(A case from its file. Raises IoError, or DataError naming the file and the part of it.)");
  define(
      m, "write_case",
      [](const std::filesystem::path& file, const std::shared_ptr<Case>& given) {
        write_case(file, *given);
      },
      py::arg("file"), py::arg("case"),
      R"(The case as one file: a zip of its document and its photos as they were given, their metadata too.
The same case gives the same bytes. Raises IoError.)");
}

}  // namespace mamelon::python

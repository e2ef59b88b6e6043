// Documents and tables in and out, reports and sheets.

#include "mamelon/files.h"

#include <pybind11/stl/filesystem.h>

#include "mamelon/drawdown.h"
#include "mamelon/exchange.h"
#include "mamelon/opacity.h"
#include "mamelon/paste_report.h"
#include "mamelon/sheet.h"

#include "bindings.h"
#include "define.h"
#include "reports.h"
#include "run.h"
#include "table_options.h"
#include "values.h"

namespace mamelon::python {

namespace {

using Path = std::filesystem::path;

AuditReport view_of(const OwnedAuditReport& owned) {
  if (!owned.tabs || !owned.population || !owned.audit)
    throw ArgumentError("an AuditReport needs tabs, population and audit to be shown");
  return {.label = owned.label,
          .tabs = owned.tabs.get(),
          .population = owned.population.get(),
          .audit = owned.audit.get(),
          .drift = owned.drift.get(),
          .choice = owned.choice.get()};
}

void bind_documents(py::module_& m) {
  define_long(
      m, "read_card", read_card, py::arg("file"),
      R"(A card from its JSON document. Raises IoError, or DataError naming the file and the JSON path.)");
  define_long(
      m, "read_kept_fit", read_kept_fit, py::arg("file"),
      R"(A kept fit from its JSON document. Raises IoError, or DataError naming the file and the JSON path.)");
  define_long(
      m, "read_tab_set", read_tab_set, py::arg("file"),
      R"(A tab set from its JSON document. Raises IoError, or DataError naming the file and the JSON path.)");
  define_long(
      m, "read_paste_set", read_paste_set, py::arg("file"),
      R"(A paste set from its JSON document. Raises IoError, or DataError naming the file and the JSON path.)");
  define_long(m, "parse_card", parse_card, py::arg("text"), py::arg("source"),
              R"(A card from JSON text; `source` names it in messages.)");
  define_long(m, "parse_kept_fit", parse_kept_fit, py::arg("text"), py::arg("source"),
              R"(A kept fit from JSON text; `source` names it in messages.)");
  define_long(m, "parse_tab_set", parse_tab_set, py::arg("text"), py::arg("source"),
              R"(A tab set from JSON text; `source` names it in messages.

>>> tabs = TabSet("one", [Tab("Linden", Measured([70, 1, 15]))], "D65/2")
>>> parse_tab_set(to_json(tabs), "memory").tabs == tabs.tabs
True
)");
  define_long(m, "parse_paste_set", parse_paste_set, py::arg("text"), py::arg("source"),
              R"(A paste set from JSON text; `source` names it in messages.)");
}

}  // namespace

TextPairs Convert<TextPairs>::from_python(py::handle given, const std::string& where) {
  if (!py::isinstance<py::dict>(given)) wrong_type(where, "a dict of strings", given);
  TextPairs pairs;
  for (const auto& [key, value] : py::reinterpret_borrow<py::dict>(given)) {
    pairs.emplace_back(Convert<std::string>::from_python(key, where),
                       Convert<std::string>::from_python(value, where));
  }
  return pairs;
}

// Labels and colours of a table.
template <>
struct Result<ColourTable> {
  static std::string type() { return "tuple[tuple[str, ...], NDArray[np.float64]]"; }
  static py::object from(const ColourTable& table) {
    static_assert(sizeof(Lab) == 3 * sizeof(double));
    return py::make_tuple(Convert<std::vector<std::string>>::to_python(table.labels),
                          copied_array(&table.lab.front().l, {table.lab.size(), 3}));
  }
};

namespace {

void bind_tables(py::module_& m) {
  define_long(
      m, "read_table",
      [](const Path& file, const Viewing& viewing, std::optional<double> resample_nm) {
        return read_table(file, viewing, {resample_nm});
      },
      py::arg("file"), py::arg("viewing"), py::kw_only(), py::arg("resample_nm") = py::none(),
      R"(Readings from CSV with a header row, `label,L,a,b` or `label,380,390,…`, one a row. `resample_nm`, up
to 20, brings spectra to even steps; without it those at uneven wavelengths are refused. Raises
IoError, or DataError naming the file and line.)");
  define_long(
      m, "parse_table",
      [](const std::string& csv, const std::string& source, const Viewing& viewing,
         std::optional<double> resample_nm) {
        return parse_table(csv, source, viewing, {resample_nm});
      },
      py::arg("csv"), py::arg("source"), py::arg("viewing"), py::kw_only(),
      py::arg("resample_nm") = py::none(), R"(The same from CSV text; `source` names it in messages.

>>> [reading.label for reading in parse_table("label,L,a,b\ndisc,70,1,15\n", "memory", "D65/2")]
['disc']
)");
  define_long(
      m, "read_measurements",
      [](const Path& file, const std::optional<Viewing>& viewing,
         std::optional<double> resample_nm) {
        return read_measurements(file, viewing, {resample_nm});
      },
      py::arg("file"), py::arg("viewing") = py::none(), py::kw_only(),
      py::arg("resample_nm") = py::none(),
      R"(Readings from CSV, ISO 28178 text (CGATS.17) or CxF3, told apart by content. `viewing` may be None
where the file states it. Raises IoError, DataError naming the file and place, or ArgumentError.)");
  define_long(
      m, "parse_measurements",
      [](const TextOrBytes& content, const std::string& source,
         const std::optional<Viewing>& viewing, std::optional<double> resample_nm) {
        return parse_measurements(content.held, source, viewing, {resample_nm});
      },
      py::arg("content"), py::arg("source"), py::arg("viewing") = py::none(), py::kw_only(),
      py::arg("resample_nm") = py::none(),
      R"(The same of a file's content; `source` names it in messages.

>>> parse_measurements("label,L,a,b\ndisc,70,1,15\n", "memory", "D65/2")[0].label
'disc'
)");
  define_long(
      m, "read_colours",
      [](const Path& file, const std::optional<Viewing>& viewing,
         std::optional<double> resample_nm) { return read_colours(file, viewing, {resample_nm}); },
      py::arg("file"), py::arg("viewing") = py::none(), py::kw_only(),
      py::arg("resample_nm") = py::none(),
      R"(Labels and CIELAB (n, 3) of a file as `read_measurements` reads it, for tables of millions of rows.)");
  const auto writer = [&m](const char* name, std::string (*write)(std::span<const Reading>),
                           std::string (*write_repeats)(std::span<const RepeatReading>),
                           const char* doc) {
    m.def(
        name,
        [write, write_repeats](const py::object& readings) {
          const bool repeats = py::isinstance<py::sequence>(readings) && py::len(readings) > 0 &&
                               py::isinstance<RepeatReading>(py::object(readings[py::int_(0)]));
          if (repeats)
            return write_repeats(
                Convert<std::vector<RepeatReading>>::from_python(readings, "readings"));
          return write(Convert<std::vector<Reading>>::from_python(readings, "readings"));
        },
        py::arg("readings"), doc);
  };
  writer("to_cgats", &to_cgats, &repeats_to_cgats,
         R"(to_cgats(readings: Sequence[Reading] | Sequence[RepeatReading]) -> str

Readings, with their circumstances where given, as ISO 28178 text. Raises ArgumentError for no reading, mixed viewings or unlike grids.

>>> text = to_cgats([Reading("disc", Measured([70, 1, 15]), "D65/2")])
>>> parse_measurements(text, "memory")[0].lab.value
Lab(l=70, a=1, b=15)
)");
  writer("to_cxf", &to_cxf, &repeats_to_cxf,
         R"(to_cxf(readings: Sequence[Reading] | Sequence[RepeatReading]) -> str

Readings, with their circumstances where given, as CxF3 core. Raises ArgumentError for no reading, mixed viewings or unlike grids.

>>> text = to_cxf([Reading("disc", Measured([70, 1, 15]), "D65/2")])
>>> parse_measurements(text, "memory")[0].lab.value
Lab(l=70, a=1, b=15)
)");
  define_long(
      m, "read_repeats",
      [](const Path& file, const std::optional<Viewing>& viewing, std::optional<double> resample_nm,
         const std::optional<TextPairs>& columns) {
        return read_repeats(file, viewing, {resample_nm, columns.value_or(TextPairs{})});
      },
      py::arg("file"), py::arg("viewing") = py::none(), py::kw_only(),
      py::arg("resample_nm") = py::none(), py::arg("columns") = py::none(),
      R"(Repeat readings of tabs from CSV, ISO 28178 text or CxF3, with zone, operator, day and instrument
where they are noted. `columns` says what headers mean that do not say it themselves, as
`{"tab": "Farbe Nr.", "L": "Helligkeit"}`. DataError also where nothing (a column `label` or `tab`)
names the tab; ArgumentError for a header that is not there.)");
  define(
      m, "read_reflectance",
      [](const Path& file, std::optional<double> resample_nm) {
        return read_reflectance(file, {resample_nm});
      },
      py::arg("file"), py::kw_only(), py::arg("resample_nm") = py::none(),
      R"(The one curve of a two-column CSV `wavelength_nm,reflectance`. Raises IoError, or DataError naming
the file and line.)");
  define(
      m, "parse_reflectance",
      [](const std::string& csv, const std::string& source, std::optional<double> resample_nm) {
        return parse_reflectance(csv, source, {resample_nm});
      },
      py::arg("csv"), py::arg("source"), py::kw_only(), py::arg("resample_nm") = py::none(),
      R"(The same from CSV text; `source` names it in messages.)");
  define(
      m, "parse_power",
      [](const std::string& csv, const std::string& source, std::optional<double> resample_nm) {
        return parse_power(csv, source, {resample_nm});
      },
      py::arg("csv"), py::arg("source"), py::kw_only(), py::arg("resample_nm") = py::none(),
      R"(A light's relative spectral power from the text of a two-column CSV `wavelength_nm,power`.

>>> lamp = parse_power("nm,power\n" + "".join(f"{nm},1\n" for nm in range(400, 701, 20)), "lamp.csv")
>>> Illuminant("lamp", lamp).name
'lamp'
)");
}

std::string to_json(const OwnedAuditReport& report) {
  return to_json(view_of(report));
}
std::string sheet_html(const OwnedAuditReport& report) {
  return sheet_html(view_of(report));
}

// Of a value that is one of these.
template <class... T>
std::optional<std::string> json_of(const py::object& value) {
  std::optional<std::string> text;
  ((py::isinstance<T>(value) && (text = to_json(value.cast<const T&>()))) || ...);
  return text;
}
template <class... T>
std::optional<std::string> sheet_of(const py::object& report) {
  std::optional<std::string> page;
  ((py::isinstance<T>(report) && (page = interruptibly([held = report.cast<std::shared_ptr<T>>()] {
                                    return sheet_html(*held);
                                  }))) ||
   ...);
  return page;
}

void bind_report_file(py::module_& m) {
  bind_value<CrosswalkReport>(m, "The table from tab to paste, for `to_json` and `to_csv`.");
  define(
      m, "to_csv", [](const std::shared_ptr<CrosswalkReport>& report) { return to_csv(*report); },
      py::arg("report"),
      R"(The table from tab to paste: one row a recipe, pastes from the floor outward.)");
  bind_value<OwnedAuditReport>(m, "Everything an audit of a tab set found.");
  m.def(
      "to_json",
      [](const py::object& value) {
        if (const auto text =
                json_of<Card, KeptFit, TabSet, PasteSet, Report, CrosswalkReport, OwnedAuditReport,
                        FitReport, Match, Calibration, Audit>(value))
          return *text;
        wrong_type("value",
                   "a Card, TabSet, PasteSet, Report, CrosswalkReport, AuditReport, FitReport, "
                   "Match, Calibration or Audit",
                   value);
      },
      py::arg("value"),
      R"(to_json(value: Card | KeptFit | TabSet | PasteSet | Report | CrosswalkReport | AuditReport | FitReport | Match | Calibration | Audit) -> str

The JSON document of a card, a set or a report.

>>> to_json(TabSet("one", [Tab("Linden", Measured([70, 1, 15]))], "D65/2"))[0]
'{'
)");
  m.def(
      "sheet_html",
      [](const py::object& report) {
        if (const auto page =
                sheet_of<Report, OwnedAuditReport, FitReport, Calibration, CrosswalkReport>(report))
          return *page;
        wrong_type("report",
                   "a Report, an AuditReport, a FitReport, a Calibration or a CrosswalkReport",
                   report);
      },
      py::arg("report"),
      R"(sheet_html(report: Report | AuditReport | FitReport | Calibration | CrosswalkReport) -> str

The report as one self-contained HTML page, without scripts, network references, file paths or
photo metadata.)");
  define(m, "json_schema", json_schema, py::arg("name"),
         R"(JSON Schema (draft 2020-12) of a document that is read: card, paste-set or tab-set.

>>> "mamelon-card" in json_schema("card")
True
)");
  define(m, "json_schema_names", json_schema_names, R"(Names that `json_schema` knows.

>>> json_schema_names()
('card', 'case', 'kept-fit', 'paste-set', 'tab-set')
)");
  define(m, "cautions", cautions, R"(Cautions that stand on every report of a plan or a shade.

>>> len(cautions()) > 0
True
)");
  define(
      m, "write_file_atomically",
      [](const Path& file, const TextOrBytes& content) {
        write_file_atomically(file, content.held);
      },
      py::arg("file"), py::arg("content"),
      R"(Replaces `file`: written beside it, synced, renamed. The old file stays whole on any failure.
Raises IoError.)");
}

}  // namespace

void bind_files(py::module_& m) {
  bind_documents(m);
  bind_tables(m);
  bind_report_file(m);
}

}  // namespace mamelon::python

// Documents and tables in and out, reports and sheets.

#include "mamelon/files.h"

#include <pybind11/stl/filesystem.h>

#include "mamelon/drawdown.h"
#include "mamelon/exchange.h"
#include "mamelon/opacity.h"
#include "mamelon/paste_report.h"
#include "mamelon/sheet.h"

#include "bindings.h"
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

template <class T>
void bind_reader(py::module_& m, const char* name, T (*read)(const Path&), const char* doc) {
  m.def(
      name,
      [read](const Path& file) {
        const py::gil_scoped_release release;
        return std::make_shared<T>(read(file));
      },
      py::arg("file"), doc);
}

template <class T>
void bind_parser(py::module_& m, const char* name, T (*parse)(std::string_view, const std::string&),
                 const char* doc) {
  m.def(
      name,
      [parse](const std::string& text, const std::string& source) {
        const py::gil_scoped_release release;
        return std::make_shared<T>(parse(text, source));
      },
      py::arg("text"), py::arg("source"), doc);
}

void bind_documents(py::module_& m) {
  bind_reader(m, "read_card", &read_card, R"(read_card(file: str | PathLike[str]) -> Card

A card from its JSON document. Raises IoError, or DataError naming the file and the JSON path.)");
  bind_reader(m, "read_kept_fit", &read_kept_fit,
              R"(read_kept_fit(file: str | PathLike[str]) -> KeptFit

A kept fit from its JSON document. Raises IoError, or DataError naming the file and the JSON path.)");
  bind_reader(m, "read_tab_set", &read_tab_set, R"(read_tab_set(file: str | PathLike[str]) -> TabSet

A tab set from its JSON document. Raises IoError, or DataError naming the file and the JSON path.)");
  bind_reader(m, "read_paste_set", &read_paste_set,
              R"(read_paste_set(file: str | PathLike[str]) -> PasteSet

A paste set from its JSON document. Raises IoError, or DataError naming the file and the JSON path.)");
  bind_parser(m, "parse_card", &parse_card, R"(parse_card(text: str, source: str) -> Card

A card from JSON text; `source` names it in messages.)");
  bind_parser(m, "parse_kept_fit", &parse_kept_fit,
              R"(parse_kept_fit(text: str, source: str) -> KeptFit

A kept fit from JSON text; `source` names it in messages.)");
  bind_parser(m, "parse_tab_set", &parse_tab_set, R"(parse_tab_set(text: str, source: str) -> TabSet

A tab set from JSON text; `source` names it in messages.

>>> tabs = TabSet("one", [Tab("Linden", Measured([70, 1, 15]))], "D65/2")
>>> parse_tab_set(to_json(tabs), "memory").tabs == tabs.tabs
True
)");
  bind_parser(m, "parse_paste_set", &parse_paste_set,
              R"(parse_paste_set(text: str, source: str) -> PasteSet

A paste set from JSON text; `source` names it in messages.)");
}

}  // namespace

std::vector<std::pair<std::string, std::string>> string_pairs(const py::object& given,
                                                              const char* name) {
  std::vector<std::pair<std::string, std::string>> pairs;
  if (given.is_none()) return pairs;
  if (!py::isinstance<py::dict>(given)) wrong_type(name, "a dict of strings", given);
  const auto text = [name](const py::handle& handle) {
    return Convert<std::string>::from_python(py::reinterpret_borrow<py::object>(handle), name);
  };
  for (const auto& [key, value] : py::reinterpret_borrow<py::dict>(given)) {
    pairs.emplace_back(text(key), text(value));
  }
  return pairs;
}

TableOptions table_options(const py::object& resample_nm, const py::object& columns) {
  return {.resample_nm = Convert<std::optional<double>>::from_python(resample_nm, "resample_nm"),
          .columns = string_pairs(columns, "columns")};
}

namespace {

void bind_tables(py::module_& m) {
  m.def(
      "read_table",
      [](const Path& file, const py::object& viewing, const py::object& resample_nm) {
        const auto under = Convert<Viewing>::from_python(viewing, "viewing");
        const TableOptions options = table_options(resample_nm);
        return Convert<std::vector<Reading>>::to_python(
            interruptibly([=] { return read_table(file, under, options); }));
      },
      py::arg("file"), py::arg("viewing"), py::kw_only(), py::arg("resample_nm") = py::none(),
      R"(read_table(file: str | PathLike[str], viewing: Viewing | str, *, resample_nm: float | None = ...) -> tuple[Reading, ...]

Readings from CSV with a header row, `label,L,a,b` or `label,380,390,…`, one a row. `resample_nm`, up
to 20, brings spectra to even steps; without it those at uneven wavelengths are refused. Raises
IoError, or DataError naming the file and line.)");
  m.def(
      "parse_table",
      [](const std::string& csv, const std::string& source, const py::object& viewing,
         const py::object& resample_nm) {
        const auto under = Convert<Viewing>::from_python(viewing, "viewing");
        const TableOptions options = table_options(resample_nm);
        return Convert<std::vector<Reading>>::to_python(
            interruptibly([=] { return parse_table(csv, source, under, options); }));
      },
      py::arg("csv"), py::arg("source"), py::arg("viewing"), py::kw_only(),
      py::arg("resample_nm") = py::none(),
      R"(parse_table(csv: str, source: str, viewing: Viewing | str, *, resample_nm: float | None = ...) -> tuple[Reading, ...]

The same from CSV text; `source` names it in messages.

>>> [reading.label for reading in parse_table("label,L,a,b\ndisc,70,1,15\n", "memory", "D65/2")]
['disc']
)");
  m.def(
      "read_measurements",
      [](const Path& file, const py::object& viewing, const py::object& resample_nm) {
        const auto under = Convert<std::optional<Viewing>>::from_python(viewing, "viewing");
        const TableOptions options = table_options(resample_nm);
        return Convert<std::vector<Reading>>::to_python(
            interruptibly([=] { return read_measurements(file, under, options); }));
      },
      py::arg("file"), py::arg("viewing") = py::none(), py::kw_only(),
      py::arg("resample_nm") = py::none(),
      R"(read_measurements(file: str | PathLike[str], viewing: Viewing | str | None = ..., *, resample_nm: float | None = ...) -> tuple[Reading, ...]

Readings from CSV, ISO 28178 text (CGATS.17) or CxF3, told apart by content. `viewing` may be None
where the file states it. Raises IoError, DataError naming the file and place, or ArgumentError.)");
  m.def(
      "parse_measurements",
      [](const py::object& content, const std::string& source, const py::object& viewing,
         const py::object& resample_nm) {
        if (!PyUnicode_Check(content.ptr()) && !PyBytes_Check(content.ptr()))
          wrong_type("content", "a string or bytes", content);
        const auto under = Convert<std::optional<Viewing>>::from_python(viewing, "viewing");
        const TableOptions options = table_options(resample_nm);
        return Convert<std::vector<Reading>>::to_python(
            interruptibly([bytes = py::cast<std::string>(content), source, under, options] {
              return parse_measurements(bytes, source, under, options);
            }));
      },
      py::arg("content"), py::arg("source"), py::arg("viewing") = py::none(), py::kw_only(),
      py::arg("resample_nm") = py::none(),
      R"(parse_measurements(content: str | bytes, source: str, viewing: Viewing | str | None = ..., *, resample_nm: float | None = ...) -> tuple[Reading, ...]

The same of a file's content; `source` names it in messages.

>>> parse_measurements("label,L,a,b\ndisc,70,1,15\n", "memory", "D65/2")[0].label
'disc'
)");
  m.def(
      "read_colours",
      [](const Path& file, const py::object& viewing, const py::object& resample_nm) {
        const auto under = Convert<std::optional<Viewing>>::from_python(viewing, "viewing");
        const TableOptions options = table_options(resample_nm);
        const ColourTable table = interruptibly([=] { return read_colours(file, under, options); });
        static_assert(sizeof(Lab) == 3 * sizeof(double));
        return py::make_tuple(Convert<std::vector<std::string>>::to_python(table.labels),
                              copied_array(&table.lab.front().l, {table.lab.size(), 3}));
      },
      py::arg("file"), py::arg("viewing") = py::none(), py::kw_only(),
      py::arg("resample_nm") = py::none(),
      R"(read_colours(file: str | PathLike[str], viewing: Viewing | str | None = ..., *, resample_nm: float | None = ...) -> tuple[tuple[str, ...], NDArray[np.float64]]

Labels and CIELAB (n, 3) of a file as `read_measurements` reads it, for tables of millions of rows.)");
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
  m.def(
      "read_repeats",
      [](const Path& file, const py::object& viewing, const py::object& resample_nm,
         const py::object& columns) {
        const auto under = Convert<std::optional<Viewing>>::from_python(viewing, "viewing");
        const TableOptions options = table_options(resample_nm, columns);
        return Convert<std::vector<RepeatReading>>::to_python(
            interruptibly([=] { return read_repeats(file, under, options); }));
      },
      py::arg("file"), py::arg("viewing") = py::none(), py::kw_only(),
      py::arg("resample_nm") = py::none(), py::arg("columns") = py::none(),
      R"(read_repeats(file: str | PathLike[str], viewing: Viewing | str | None = ..., *, resample_nm: float | None = ..., columns: dict[str, str] | None = ...) -> tuple[RepeatReading, ...]

Repeat readings of tabs from CSV, ISO 28178 text or CxF3, with zone, operator, day and instrument
where they are noted. `columns` says what headers mean that do not say it themselves, as
`{"tab": "Farbe Nr.", "L": "Helligkeit"}`. DataError also where nothing (a column `label` or `tab`)
names the tab; ArgumentError for a header that is not there.)");
  m.def(
      "read_reflectance",
      [](const Path& file, const py::object& resample_nm) {
        return read_reflectance(file, table_options(resample_nm));
      },
      py::arg("file"), py::kw_only(), py::arg("resample_nm") = py::none(),
      R"(read_reflectance(file: str | PathLike[str], *, resample_nm: float | None = ...) -> Reflectance

The one curve of a two-column CSV `wavelength_nm,reflectance`. Raises IoError, or DataError naming
the file and line.)");
  const auto curve = [&m](const char* name, auto parse, const char* doc) {
    m.def(
        name,
        [parse](const std::string& csv, const std::string& source, const py::object& resample_nm) {
          return parse(csv, source, table_options(resample_nm));
        },
        py::arg("csv"), py::arg("source"), py::kw_only(), py::arg("resample_nm") = py::none(), doc);
  };
  curve(
      "parse_reflectance", &parse_reflectance,
      R"(parse_reflectance(csv: str, source: str, *, resample_nm: float | None = ...) -> Reflectance

The same from CSV text; `source` names it in messages.)");
  curve("parse_power", &parse_power,
        R"(parse_power(csv: str, source: str, *, resample_nm: float | None = ...) -> Power

A light's relative spectral power from the text of a two-column CSV `wavelength_nm,power`.

>>> lamp = parse_power("nm,power\n" + "".join(f"{nm},1\n" for nm in range(400, 701, 20)), "lamp.csv")
>>> Illuminant("lamp", lamp).name
'lamp'
)");
}

void bind_report_file(py::module_& m) {
  bind_value<CrosswalkReport>(m, "The table from tab to paste, for `to_json` and `to_csv`.");
  m.def(
      "to_csv", [](const std::shared_ptr<CrosswalkReport>& report) { return to_csv(*report); },
      py::arg("report"), R"(to_csv(report: CrosswalkReport) -> str

The table from tab to paste: one row a recipe, pastes from the floor outward.)");
  bind_value<OwnedAuditReport>(m, "Everything an audit of a tab set found.");
  m.def(
      "to_json",
      [](const py::object& value) {
        if (py::isinstance<Card>(value)) return to_json(value.cast<const Card&>());
        if (py::isinstance<KeptFit>(value)) return to_json(value.cast<const KeptFit&>());
        if (py::isinstance<TabSet>(value)) return to_json(value.cast<const TabSet&>());
        if (py::isinstance<PasteSet>(value)) return to_json(value.cast<const PasteSet&>());
        if (py::isinstance<Report>(value)) return to_json(value.cast<const Report&>());
        if (py::isinstance<CrosswalkReport>(value))
          return to_json(value.cast<const CrosswalkReport&>());
        if (py::isinstance<OwnedAuditReport>(value))
          return to_json(view_of(value.cast<const OwnedAuditReport&>()));
        if (py::isinstance<FitReport>(value)) return to_json(value.cast<const FitReport&>());
        if (py::isinstance<Match>(value)) return to_json(value.cast<const Match&>());
        if (py::isinstance<Calibration>(value)) return to_json(value.cast<const Calibration&>());
        if (py::isinstance<Audit>(value)) return to_json(value.cast<const Audit&>());
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
        if (py::isinstance<Report>(report))
          return interruptibly(
              [held = report.cast<std::shared_ptr<Report>>()] { return sheet_html(*held); });
        if (py::isinstance<OwnedAuditReport>(report))
          return interruptibly([held = report.cast<std::shared_ptr<OwnedAuditReport>>()] {
            return sheet_html(view_of(*held));
          });
        if (py::isinstance<FitReport>(report))
          return interruptibly(
              [held = report.cast<std::shared_ptr<FitReport>>()] { return sheet_html(*held); });
        if (py::isinstance<Calibration>(report))
          return sheet_html(report.cast<const Calibration&>());
        if (py::isinstance<CrosswalkReport>(report))
          return sheet_html(report.cast<const CrosswalkReport&>());
        wrong_type("report",
                   "a Report, an AuditReport, a FitReport, a Calibration or a CrosswalkReport",
                   report);
      },
      py::arg("report"),
      R"(sheet_html(report: Report | AuditReport | FitReport | Calibration | CrosswalkReport) -> str

The report as one self-contained HTML page, without scripts, network references, file paths or
photo metadata.)");
  m.def(
      "json_schema",
      [](const py::object& name) {
        return json_schema(Convert<std::string>::from_python(name, "name"));
      },
      py::arg("name"), R"(json_schema(name: str) -> str

JSON Schema (draft 2020-12) of a document that is read: card, paste-set or tab-set.

>>> "mamelon-card" in json_schema("card")
True
)");
  m.def(
      "json_schema_names",
      [] { return Convert<std::vector<std::string>>::to_python(json_schema_names()); },
      R"(json_schema_names() -> tuple[str, ...]

Names that `json_schema` knows.

>>> json_schema_names()
('card', 'case', 'kept-fit', 'paste-set', 'tab-set')
)");
  m.def(
      "cautions", [] { return Convert<std::vector<std::string>>::to_python(cautions()); },
      R"(cautions() -> tuple[str, ...]

Cautions that stand on every report of a plan or a shade.

>>> len(cautions()) > 0
True
)");
  m.def(
      "write_file_atomically",
      [](const Path& file, const py::object& content) {
        if (!PyUnicode_Check(content.ptr()) && !PyBytes_Check(content.ptr()))
          wrong_type("content", "a string or bytes", content);
        const auto text = py::cast<std::string>(content);
        const py::gil_scoped_release release;
        write_file_atomically(file, text);
      },
      py::arg("file"), py::arg("content"),
      R"(write_file_atomically(file: str | PathLike[str], content: str | bytes) -> None

Replaces `file`: written beside it, synced, renamed. The old file stays whole on any failure.
Raises IoError.)");
}

}  // namespace

void bind_files(py::module_& m) {
  bind_documents(m);
  bind_tables(m);
  bind_report_file(m);
}

}  // namespace mamelon::python

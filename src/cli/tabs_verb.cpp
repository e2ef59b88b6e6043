// `mamelon tabs build` and `audit`: a tab set from repeat readings, and what it is
// worth.

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/audit.h"
#include "mamelon/calibrate.h"
#include "mamelon/exchange.h"
#include "mamelon/sheet.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/progress.h"
#include "cli/shared_options.h"
#include "cli/terminal.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

using detail::format_fixed;

struct BuildOptions {
  std::string readings;
  std::string name = "tabs";
  ViewingOptions viewing;
  std::string out;
  std::string sheet;
  bool replace = false;
  bool json = false;
};

std::string calibration_text(const Terminal& terminal, const Calibration& calibration) {
  std::vector<std::vector<std::string>> rows;
  for (std::size_t i = 0; i < calibration.tabs.tabs.size(); ++i) {
    const Tab& tab = calibration.tabs.tabs[i];
    const TabRecord& record = calibration.records[i];
    const Vec3 sd = tab.lab.sd();
    rows.push_back({tab.name, swatch(terminal, tab.lab.value, calibration.tabs.viewing),
                    format_fixed(tab.lab.value.l, 2) + " ± " + format_fixed(sd[0], 2),
                    format_fixed(tab.lab.value.a, 2) + " ± " + format_fixed(sd[1], 2),
                    format_fixed(tab.lab.value.b, 2) + " ± " + format_fixed(sd[2], 2),
                    std::to_string(record.used) + "/" + std::to_string(record.count),
                    record.no_repeatability ? "" : format_fixed(record.mcdm_de00, 2),
                    record.repeats_worse ? "repeats worse than the others" : ""});
  }
  std::string out =
      paragraph(terminal, "Tabs: CIELAB under " + to_string(calibration.tabs.viewing) +
                              ", mean ± standard deviation; MCDM is the mean ΔE00 from the mean") +
      table(terminal,
            {"tab", "", right("L*"), right("a*"), right("b*"), right("used"), right("MCDM"), ""},
            rows);
  rows.clear();
  for (const SetAside& aside : calibration.set_aside) {
    rows.push_back(
        {std::to_string(aside.row), aside.tab, format_fixed(aside.de00, 2), aside.reason});
  }
  if (!rows.empty()) {
    out += "\nReadings set aside\n" +
           table(terminal, {right("line"), "tab", right("ΔE00"), "why"}, rows);
  }
  rows.clear();
  for (const VariancePart& part : calibration.parts) {
    rows.push_back(
        {part.source, std::to_string(part.levels), format_fixed(part.sd_de00, 2), part.note});
  }
  if (!rows.empty()) {
    out += "\nWhere a reading's spread comes from\n" +
           table(terminal, {"part", right("levels"), right("sd, ΔE00"), ""}, rows);
  }
  return out;
}

int build(const BuildOptions& options) {
  check_output(options.sheet);
  const auto readings = read_repeats(options.readings, given_viewing(options.viewing),
                                     table_options(options.viewing));
  const Calibration calibration = calibrate(readings, {.name = options.name});
  const std::string document = to_json(calibration.tabs);
  if (!options.out.empty()) write_new_file("--out", options.out, document, options.replace);
  if (!options.sheet.empty()) write_sheet(options.sheet, sheet_html(calibration));
  print_warnings(calibration.warnings);
  print(options.json ? document : calibration_text(Terminal::of_stdout(), calibration));
  return exit_code::done;
}

struct AuditCommand {
  std::string tabs;
  std::vector<std::string> witnesses;
  std::string earlier;
  std::string teeth;
  std::string keep;
  std::string label;
  std::string sheet;
  std::string weights = "1:1:1";
  bool json = false;
};

std::string chance_text(double p) {
  return p < 0.001 ? "< 0.001" : detail::format_short(p, 2);
}

// How the set moved as a whole, and what the witness tells of it.
std::string set_text(const Terminal& terminal, const Drift& drift) {
  const auto moved = [](double de, double p) {
    return " moved by ΔE00 " + format_fixed(de, 2) + " (p " + chance_text(p) + "); ";
  };
  std::string out;
  if (drift.common_shift_removed)
    out += "All tabs together" + moved(drift.common_shift_de00, drift.common_shift_p_value);
  if (drift.set_verdict != SetVerdict::unknown)
    out += "against the witness the set" + moved(drift.set_shift_de00, drift.set_shift_p_value);
  return paragraph(terminal, out + drift.note, 0);
}

std::string audit_text(const Terminal& terminal, const AuditReport& report) {
  const Audit& audit = *report.audit;
  const Coverage& coverage = audit.coverage;
  std::string out =
      paragraph(terminal,
                "Coverage error ΔE00 " + format_fixed(coverage.error_de00, 2) + " (" +
                    format_fixed(coverage.low, 2) + "–" + format_fixed(coverage.high, 2) + "), " +
                    percent(coverage.share_acceptable) + " of teeth acceptable, worst " +
                    format_fixed(coverage.worst_de00, 2) + "; against " + audit.population,
                0);
  if (!audit.population_note.empty()) {
    out += paragraph(terminal, audit.population_note, 0);
  }
  std::vector<std::vector<std::string>> rows;
  for (const Neighbour& near : audit.neighbours) {
    rows.push_back(
        {near.tab, near.nearest, near.nearest.empty() ? "" : format_fixed(near.de00, 2)});
  }
  out += "\nNearest other tab\n" + table(terminal, {"tab", "nearest", right("ΔE00")}, rows);
  for (const RedundantPair& pair : audit.redundant) {
    out += paragraph(terminal,
                     "  " + pair.first + " and " + pair.second + " cannot be told apart (chance " +
                         percent(pair.chance) + ")",
                     4);
  }
  rows.clear();
  for (const Gap& gap : audit.gaps) {
    rows.push_back({swatch(terminal, gap.centre, report.tabs->viewing), lab_cell(gap.centre),
                    percent(gap.share), gap.nearest, format_fixed(gap.de00, 2)});
  }
  if (!rows.empty()) {
    out += "\nGaps: teeth without an acceptable tab\n" +
           table(terminal, {"", "L* a* b*", right("teeth"), "nearest", right("ΔE00")}, rows);
  }
  out += paragraph(terminal,
                   "One more tab at " + lab_cell(audit.extra_tab.lab) +
                       " would lower the coverage error to " +
                       format_fixed(audit.extra_tab.error_de00, 2),
                   0);
  if (report.choice != nullptr) {
    std::string names;
    for (const std::string& name : report.choice->tabs) names += " " + name;
    out +=
        paragraph(terminal, "The best " + std::to_string(report.choice->tabs.size()) + ":" + names +
                                " (coverage error " + format_fixed(report.choice->error_de00, 2) +
                                (report.choice->exact ? "; none is better)" : ")"));
  }
  if (report.drift != nullptr) {
    rows.clear();
    for (const TabDrift& tab : report.drift->tabs) {
      rows.push_back(
          {tab.tab, format_fixed(tab.de00, 2), chance_text(tab.p_value), in_words(tab.verdict)});
    }
    out += "\nSince the earlier set\n(5 % of steady sets are accused)\n" +
           table(terminal, {"tab", right("ΔE00"), right("p"), ""}, rows) +
           set_text(terminal, *report.drift);
  }
  return out;
}

// Witnesses are read with the tabs but are none.
TabSet without(TabSet tabs, const std::vector<std::string>& witnesses) {
  std::erase_if(tabs.tabs, [&](const Tab& tab) {
    return std::find(witnesses.begin(), witnesses.end(), tab.name) != witnesses.end();
  });
  if (tabs.tabs.empty()) throw ArgumentError("a set of witnesses alone has no tabs to audit");
  return tabs;
}

int audit_tabs(const AuditCommand& options) {
  const DifferenceWeights weights = weights_argument(options.weights);
  const TabSet all = read_tab_set(options.tabs);
  const TabSet tabs = without(all, options.witnesses);
  const auto own_teeth = [&] {
    ColourTable table = read_colours(options.teeth, tabs.viewing);
    print_warnings(table.warnings);
    return population_of("your teeth", std::move(table.lab), table.viewing);
  };
  Population population = options.teeth.empty() ? generated_population(tabs.viewing) : own_teeth();
  if (!population.generated && population.reading_error == Mat3{})
    population.reading_error = tabs.new_reading;
  std::optional<Progress> progress(std::in_place);
  progress->at(0, "auditing the tabs");
  check_output(options.sheet);
  const Audit found = audit(tabs, population, {.weights = weights});
  std::optional<Drift> changed;
  if (!options.earlier.empty()) {
    changed = drift(read_tab_set(options.earlier), all,
                    {.weights = weights, .witnesses = options.witnesses});
  }
  std::optional<TabChoice> choice;
  if (!options.keep.empty()) {
    const int keep = whole_argument("--keep", options.keep, 1, static_cast<int>(tabs.tabs.size()));
    progress->at(0.5, "choosing the best tabs");
    choice = best_tabs(tabs, population, static_cast<std::size_t>(keep), weights);
  }
  progress.reset();
  const AuditReport report{.label = options.label,
                           .tabs = &tabs,
                           .population = &population,
                           .audit = &found,
                           .drift = changed ? &*changed : nullptr,
                           .choice = choice ? &*choice : nullptr};
  if (!options.sheet.empty()) write_sheet(options.sheet, sheet_html(report));
  print_warnings(found.warnings);
  if (changed) print_warnings(changed->warnings);
  print(options.json ? to_json(report) : audit_text(Terminal::of_stdout(), report));
  return exit_code::done;
}

void add_build(CLI::App& tabs, Action& chosen) {
  auto [verb, options] =
      add_verb(tabs, "build", "A tab set from repeat readings of your own tabs", chosen, build);
  add_needed(verb, "READINGS", "FILE", options.readings,
             "Table (CSV label,L,a,b or label,380,390,…, ISO 28178 text, CxF3) with, where "
             "noted, operator, day and instrument; the label is the tab's name, repeated for "
             "repeat readings");
  add_value(verb, "--name", "TEXT", options.name, "Name of the set");
  add_viewing_options(verb, options.viewing, false);
  add_value(verb, "--out", "FILE", options.out, "Write the tab set (JSON document) to this file");
  add_replace_flag(verb, options.replace);
  add_sheet_option(verb, options.sheet);
  verb.add_flag("--json", options.json, "The tab set on standard output");
  verb.footer("Example:\n  mamelon tabs build readings.csv --name mine --out mine.json");
}

void add_audit(CLI::App& tabs, Action& chosen) {
  auto [verb, options] =
      add_verb(tabs, "audit", "Gaps, redundancies, coverage error and drift of a tab set", chosen,
               audit_tabs);
  add_needed(verb, "TABS", "FILE", options.tabs, "The tab set (JSON document)");
  add_value(verb, "--earlier", "FILE", options.earlier,
            "The same tabs as calibrated earlier: says which have drifted");
  add_value(verb, "--witness", "NAME", options.witnesses,
            "An entry of both sets that is no tab but keeps its colour, for instance a check "
            "tile: it tells a change of the instrument from one of the whole set; may be "
            "given again")
      ->needs(verb.get_option("--earlier"));
  add_value(verb, "--teeth", "FILE", options.teeth,
            "CSV of your own teeth (label,L,a,b or label,380,390,…) instead of a generated "
            "population");
  add_value(verb, "--keep", "N", options.keep, "Also find the best set of this many tabs");
  add_weights_option(verb, options.weights);
  add_label_option(verb, options.label, "Your own title for the sheet");
  add_sheet_option(verb, options.sheet);
  add_json_flag(verb, options.json);
  verb.footer(
      "Example:\n  mamelon tabs audit data/tabs/orchard16.json --keep 8 --sheet audit.html");
}

}  // namespace

void add_tabs(CLI::App& app, Action& chosen) {
  CLI::App* tabs = app.add_subcommand(
      "tabs", "Build and audit a set of shade tabs, and plan every tab in pastes");
  tabs->require_subcommand(1);
  add_build(*tabs, chosen);
  add_audit(*tabs, chosen);
  add_transfer(*tabs, chosen);
  add_align(*tabs, chosen);
  add_crosswalk(*tabs, chosen);
}

}  // namespace mamelon::cli

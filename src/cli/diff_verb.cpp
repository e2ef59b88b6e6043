// `mamelon diff`: colour differences of two lists, in little memory where they are in one order.

#include <algorithm>
#include <cstdint>
#include <deque>
#include <functional>
#include <iostream>
#include <map>
#include <optional>
#include <string>
#include <utility>

#include <unistd.h>

#include "mamelon/exchange.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/progress.h"
#include "cli/shared_options.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  std::string first, second;
  ViewingOptions viewing;
  std::string weights = "1:1:1";
  std::string formula;
  bool json = false;
};

// Rows of one list; a bad row is told on standard error, unless it has been already, and counted.
class List {
 public:
  List(const std::string& file, const Viewing& viewing, const TableOptions& options,
       Progress& progress, bool quiet)
      : rows_(file, viewing, options), progress_(progress), quiet_(quiet) {}

  // The next row; nothing in `row` when it is bad; false at the end.
  bool next(std::optional<ColourRow>& row) {
    try {
      if (!rows_.next(row_)) return false;
      row = row_;
    } catch (const DataError& error) {
      row.reset();
      ++bad_;
      if (!quiet_) progress_.say(std::string("mamelon: ") + error.what());
    }
    return true;
  }
  [[nodiscard]] std::size_t bad() const { return bad_; }
  // Share of the file that is read, 0–1.
  [[nodiscard]] double share() const { return rows_.share(); }

 private:
  ColourRows rows_;
  Progress& progress_;
  bool quiet_;
  ColourRow row_;
  std::size_t bad_ = 0;
};

// A label as one cell of the printed list.
std::string cell(std::string label) {
  std::replace(label.begin(), label.end(), '\t', ' ');
  return printable(label);
}

class Output {
 public:
  Output(bool json, const std::string& formula) : json_(json) {
    const std::string column = formula.empty() ? "" : "\t" + formula;
    std::cout << (json_ ? "{\n  \"pairs\": [" : "a\tb\tdE00\tdL\tdC\tdH\tdE76" + column + "\n");
  }
  void pair(const ColourPair& pair) {
    using detail::format_fixed;
    const SignedDifference& parts = pair.parts;
    if (json_) {
      std::cout << (first_ ? "\n    " : ",\n    ") << to_json_line(pair);
    } else {
      std::cout << cell(pair.first) << '\t' << cell(pair.second) << '\t'
                << format_fixed(parts.de, 4) << '\t' << format_fixed(parts.dl, 4) << '\t'
                << format_fixed(parts.dc, 4) << '\t' << format_fixed(parts.dh, 4) << '\t'
                << format_fixed(pair.de76, 4)
                << (pair.formula ? "\t" + format_fixed(pair.de, 4) : "") << '\n';
    }
    first_ = false;
  }
  void finish() { print(json_ ? (first_ ? "]\n}\n" : "\n  ]\n}\n") : ""); }

 private:
  bool json_;
  bool first_ = true;
};

// What a row is told apart by.
std::string key_of(const ColourRow& row) {
  return row.label + '\n' + row.zone;
}

// How the rows of two lists belong together.
enum class Pairing { by_row, by_label };

struct Lists {
  const Options& options;
  Viewing viewing;
  TableOptions table;
  Progress& progress;

  [[nodiscard]] List first(bool quiet) const {
    return {options.first, viewing, table, progress, quiet};
  }
  [[nodiscard]] List second(bool quiet) const {
    return {options.second, viewing, table, progress, quiet};
  }
};

// Reads both lists once, before anything is printed: they must be of equal length. Equal labels in
// another order belong together; sums of their hashes tell that without keeping them.
Pairing pairing_of(const Lists& lists) {
  List first = lists.first(false);
  List second = lists.second(false);
  std::optional<ColourRow> a;
  std::optional<ColourRow> b;
  std::size_t rows = 0;
  bool in_order = true;
  std::uint64_t labels = 0;
  const auto hash = [](const ColourRow& row) { return std::hash<std::string>{}(key_of(row)); };
  bool more_a = first.next(a);
  bool more_b = second.next(b);
  for (; more_a && more_b; more_a = first.next(a), more_b = second.next(b)) {
    constexpr std::size_t between = 4096;
    if (++rows % between == 0) lists.progress.at(first.share() / 2, "reading the lists");
    if (!a || !b) continue;
    in_order = in_order && key_of(*a) == key_of(*b);
    labels += hash(*a) - hash(*b);
  }
  if (more_a || more_b) {
    const auto& [longer, shorter] = more_a ? std::pair(lists.options.first, lists.options.second)
                                           : std::pair(lists.options.second, lists.options.first);
    throw DataError(longer + ": has more rows than " + shorter + ", which ends after row " +
                    std::to_string(rows) + "; give lists of equal length");
  }
  const bool all_read = first.bad() + second.bad() == 0;
  if (in_order) return Pairing::by_row;
  if (all_read && labels == 0) return Pairing::by_label;
  lists.progress.say(
      "mamelon: note: the lists have other labels: rows are compared in their order");
  return Pairing::by_row;
}

// Rows of a list by label; of a label that stands several times, in their order.
std::map<std::string, std::deque<ColourRow>> by_label(List list) {
  std::map<std::string, std::deque<ColourRow>> rows;
  std::optional<ColourRow> row;
  while (list.next(row)) {
    if (row) rows[key_of(*row)].push_back(*row);
  }
  return rows;
}

int run(const Options& options) {
  const DifferenceWeights weights = weights_argument(options.weights);
  std::optional<Formula> chosen;
  if (!options.formula.empty()) chosen = from_string<Formula>(options.formula);
  const DifferenceFormula formula{.formula = chosen.value_or(Formula::de00), .weights = weights};
  // On a terminal the rows themselves show how far it is.
  std::optional<Progress> progress(std::in_place, ::isatty(STDOUT_FILENO) != 1);
  const Lists lists{options, viewing_of(options.viewing), table_options(options.viewing),
                    *progress};
  const Pairing pairing = pairing_of(lists);
  auto labelled = pairing == Pairing::by_label ? by_label(lists.second(true))
                                               : decltype(by_label(lists.second(true))){};
  List first = lists.first(true);
  List second = lists.second(true);
  Output output(options.json, options.formula);
  std::optional<ColourRow> a;
  std::optional<ColourRow> b;
  std::size_t pairs = 0;
  while (first.next(a)) {
    constexpr std::size_t between = 4096;
    if (++pairs % between == 0) progress->at(0.5 + first.share() / 2, "comparing rows");
    if (pairing == Pairing::by_row) {
      if (!second.next(b)) break;
    } else if (a) {
      auto& rows = labelled.at(key_of(*a));
      b = std::move(rows.front());
      rows.pop_front();
    }
    if (a && b)
      output.pair({.first = a->label,
                   .second = b->label,
                   .parts = de00_parts(a->lab, b->lab, weights),
                   .de76 = de76(a->lab, b->lab),
                   .formula = chosen,
                   .de = difference(a->lab, b->lab, formula)});
  }
  progress.reset();
  output.finish();
  if (const std::size_t bad = first.bad() + second.bad(); bad > 0) {
    throw DataError(std::to_string(bad) + " bad row" + (bad == 1 ? "" : "s") +
                    " left out of the comparison");
  }
  return exit_code::done;
}

}  // namespace

void add_diff(CLI::App& app, Action& chosen) {
  auto [verb, options] = add_verb(app, "diff", "Colour differences of two lists", chosen, run);
  verb.add_option("FIRST", options.first, "CSV of references: label,L,a,b or label,380,390,…")
      ->required();
  verb.add_option("SECOND", options.second,
                  "CSV of samples: the same labels in any order, else row for row")
      ->required();
  add_viewing_options(verb, options.viewing);
  add_weights_option(verb, options.weights);
  add_value(verb, "--formula", "WORD", options.formula,
            "One more column by any formula: " + listed(Words<Formula>::words));
  add_json_flag(verb, options.json);
  verb.footer(
      "Differences are sample minus reference; dL, dC, dH are the signed weighted parts of "
      "CIEDE2000.\n\nExample:\n  mamelon diff before.csv after.csv");
}

}  // namespace mamelon::cli

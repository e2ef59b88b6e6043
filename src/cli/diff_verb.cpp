// `mamelon diff`: colour differences of two lists, row by row, in little memory.

#include <fstream>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/difference.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/verbs.h"
#include "faces/json_write.h"
#include "faces/table.h"

namespace mamelon::cli {
namespace {

struct Options {
  std::string first, second;
  std::string viewing = "D65/2";
  std::string weights = "1:1:1";
  bool json = false;
};

std::ifstream opened(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in || in.peek() == std::ifstream::traits_type::eof()) {
    // Reads nothing that can be used: the sentence of the whole-file reader says why.
    (void)read_file(file);
    in.clear();
  }
  return in;
}

// Rows of one list; a bad row is told on standard error and counted.
class List {
 public:
  List(const std::string& file, const Viewing& viewing)
      : in_(opened(file)), reader_(in_, file, viewing) {}

  // The next row; nothing in `row` when it is bad; false at the end.
  bool next(std::optional<detail::TableRow>& row) {
    try {
      if (!reader_.next(row_)) return false;
      row = row_;
    } catch (const DataError& error) {
      row.reset();
      ++bad_;
      std::cerr << "mamelon: " << error.what() << '\n';
    }
    return true;
  }
  [[nodiscard]] std::size_t bad() const { return bad_; }

 private:
  std::ifstream in_;
  detail::TableReader reader_;
  detail::TableRow row_;
  std::size_t bad_ = 0;
};

class Output {
 public:
  explicit Output(bool json) : json_(json) {
    std::cout << (json_ ? "{\n  \"pairs\": [" : "a\tb\tdE00\tdL\tdC\tdH\tdE76\n");
  }
  void pair(const detail::TableRow& a, const detail::TableRow& b, const SignedDifference& parts,
            double total76) {
    using detail::format_fixed;
    if (json_) {
      std::cout << (first_ ? "\n    " : ",\n    ")
                << detail::Json{{"a", a.label},   {"b", b.label},   {"de00", parts.de},
                                {"dL", parts.dl}, {"dC", parts.dc}, {"dH", parts.dh},
                                {"de76", total76}}
                       .dump(-1, ' ', false, detail::Json::error_handler_t::replace);
    } else {
      std::cout << a.label << '\t' << b.label << '\t' << format_fixed(parts.de, 4) << '\t'
                << format_fixed(parts.dl, 4) << '\t' << format_fixed(parts.dc, 4) << '\t'
                << format_fixed(parts.dh, 4) << '\t' << format_fixed(total76, 4) << '\n';
    }
    first_ = false;
  }
  void finish() { print(json_ ? (first_ ? "]\n}\n" : "\n  ]\n}\n") : ""); }

 private:
  bool json_;
  bool first_ = true;
};

int run(const Options& options) {
  const Viewing viewing = viewing_argument(options.viewing);
  const DifferenceWeights weights = weights_argument(options.weights);
  List first(options.first, viewing);
  List second(options.second, viewing);
  Output output(options.json);
  std::optional<detail::TableRow> a;
  std::optional<detail::TableRow> b;
  std::size_t pairs = 0;
  bool more_a = first.next(a);
  bool more_b = second.next(b);
  for (; more_a && more_b; more_a = first.next(a), more_b = second.next(b)) {
    ++pairs;
    if (a && b) output.pair(*a, *b, de00_parts(a->lab, b->lab, weights), de76(a->lab, b->lab));
  }
  output.finish();
  if (more_a || more_b) {
    throw DataError((more_a ? options.first : options.second) + ": has more rows than " +
                    (more_a ? options.second : options.first) + ", which ends after row " +
                    std::to_string(pairs) + "; give lists of equal length");
  }
  if (const std::size_t bad = first.bad() + second.bad(); bad > 0) {
    throw DataError(std::to_string(bad) + " bad row" + (bad == 1 ? "" : "s") +
                    " left out of the comparison");
  }
  return exit_code::done;
}

}  // namespace

void add_diff(CLI::App& app, Action& chosen) {
  const auto options = std::make_shared<Options>();
  CLI::App* verb = app.add_subcommand("diff", "Colour differences of two lists, row by row");
  verb->add_option("FIRST", options->first, "CSV of references: label,L,a,b or label,380,390,…")
      ->required();
  verb->add_option("SECOND", options->second, "CSV of samples, row for row")->required();
  verb->add_option("--viewing", options->viewing, "Illuminant and observer (2 or 10 degrees)")
      ->type_name("ILL/OBS")
      ->capture_default_str();
  verb->add_option("--weights", options->weights, "kL:kC:kH of CIEDE2000; 1:1:1 or 2:1:1")
      ->type_name("L:C:H")
      ->capture_default_str();
  verb->add_flag("--json", options->json, "One JSON document on standard output");
  verb->footer(
      "Differences are sample minus reference; dL, dC, dH are the signed weighted parts of "
      "CIEDE2000.\n\nExample:\n  mamelon diff before.csv after.csv");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli

// `mamelon diff`: colour differences of two lists, row by row, in little memory.

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <unistd.h>

#include "mamelon/difference.h"

#include "base/input_file.h"
#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/progress.h"
#include "cli/shared_options.h"
#include "cli/verbs.h"
#include "io/json_write.h"
#include "io/table.h"

namespace mamelon::cli {
namespace {

struct Options {
  std::string first, second;
  ViewingOptions viewing;
  std::string weights = "1:1:1";
  bool json = false;
};

std::ifstream opened(const std::string& file) {
  std::error_code unused;
  // A list that another program writes while it is compared comes through a pipe; of anything else
  // this says why it cannot be read.
  if (!std::filesystem::is_fifo(std::filesystem::status(file, unused))) {
    const detail::InputFile can_be_read(file, limits::table_bytes);
  }
  return std::ifstream(file, std::ios::binary);
}

double size_of(const std::string& file) {
  std::error_code failed;
  const auto size = std::filesystem::file_size(file, failed);
  return failed ? 0 : static_cast<double>(size);
}

// Rows of one list; a bad row is told on standard error and counted.
class List {
 public:
  List(const std::string& file, const Viewing& viewing, const TableOptions& options,
       Progress& progress)
      : in_(opened(file)),
        size_(size_of(file)),
        reader_(in_, file, viewing, options),
        progress_(progress) {}

  // The next row; nothing in `row` when it is bad; false at the end.
  bool next(std::optional<detail::TableRow>& row) {
    try {
      if (!reader_.next(row_)) return false;
      row = row_;
    } catch (const DataError& error) {
      row.reset();
      ++bad_;
      progress_.say(std::string("mamelon: ") + error.what());
    }
    return true;
  }
  [[nodiscard]] std::size_t bad() const { return bad_; }
  // Share of the file that is read, 0–1.
  [[nodiscard]] double share() {
    const auto at = static_cast<double>(in_.tellg());
    return at < 0 || size_ <= 0 ? 1 : at / size_;
  }

 private:
  std::ifstream in_;
  double size_;
  detail::TableReader reader_;
  Progress& progress_;
  detail::TableRow row_;
  std::size_t bad_ = 0;
};

// A label as one cell of the printed list.
std::string cell(std::string label) {
  std::replace(label.begin(), label.end(), '\t', ' ');
  return printable(label);
}

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
      std::cout << cell(a.label) << '\t' << cell(b.label) << '\t' << format_fixed(parts.de, 4)
                << '\t' << format_fixed(parts.dl, 4) << '\t' << format_fixed(parts.dc, 4) << '\t'
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
  const Viewing viewing = viewing_of(options.viewing);
  const DifferenceWeights weights = weights_argument(options.weights);
  // On a terminal the rows themselves show how far it is.
  std::optional<Progress> progress(std::in_place, ::isatty(STDOUT_FILENO) != 1);
  List first(options.first, viewing, table_options(options.viewing), *progress);
  List second(options.second, viewing, table_options(options.viewing), *progress);
  Output output(options.json);
  std::optional<detail::TableRow> a;
  std::optional<detail::TableRow> b;
  std::size_t pairs = 0;
  bool more_a = first.next(a);
  bool more_b = second.next(b);
  for (; more_a && more_b; more_a = first.next(a), more_b = second.next(b)) {
    ++pairs;
    constexpr std::size_t between = 4096;
    if (pairs % between == 0) progress->at(first.share(), "comparing rows");
    if (a && b) output.pair(*a, *b, de00_parts(a->lab, b->lab, weights), de76(a->lab, b->lab));
  }
  progress.reset();
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
  add_viewing_options(*verb, options->viewing);
  add_weights_option(*verb, options->weights);
  add_json_flag(*verb, options->json);
  verb->footer(
      "Differences are sample minus reference; dL, dC, dH are the signed weighted parts of "
      "CIEDE2000.\n\nExample:\n  mamelon diff before.csv after.csv");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli

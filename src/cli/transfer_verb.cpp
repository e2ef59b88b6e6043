// `mamelon tabs transfer`: a tab set as another instrument would read it.

#include <array>
#include <string>
#include <vector>

#include "mamelon/files.h"
#include "mamelon/transfer.h"

#include "base/numbers.h"
#include "cli/arguments.h"
#include "cli/print.h"
#include "cli/shared_options.h"
#include "cli/terminal.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

using detail::format_fixed;

struct Options {
  std::string from;
  std::string to;
  std::string carry;
  std::string out;
  bool replace = false;
  bool json = false;
};

std::string transfer_text(const Terminal& terminal, const Transfer& transfer) {
  std::vector<std::vector<std::string>> rows;
  for (const TransferScore& score : transfer.scores) {
    rows.push_back({std::string(to_string(score.form)), format_fixed(score.de00, 2),
                    score.form == transfer.form ? "taken" : ""});
  }
  std::string out =
      paragraph(terminal,
                "From " + transfer.from + " to " + transfer.to + ", by " +
                    std::to_string(transfer.tabs) +
                    " tabs read on both: tabs left out of the fit " + "are missed by ΔE00 " +
                    format_fixed(transfer.residual_de00, 2) + " (root mean square), at most " +
                    format_fixed(transfer.worst_de00, 2),
                0) +
      table(terminal, {"form", right("left out, ΔE00"), ""}, rows);
  rows.clear();
  constexpr std::array<const char*, 3> axes{"L*", "a*", "b*"};
  for (std::size_t i = 0; i < 3; ++i) {
    rows.push_back({axes[i], format_fixed(transfer.matrix[i][0], 4),
                    format_fixed(transfer.matrix[i][1], 4), format_fixed(transfer.matrix[i][2], 4),
                    format_fixed(transfer.offset[i], 3)});
  }
  return out + "\n" +
         table(terminal, {"becomes", right("L* ×"), right("a* ×"), right("b* ×"), right("plus")},
               rows);
}

int transfer_tabs(const Options& options) {
  const TabSet from = read_tab_set(options.from);
  const Transfer transfer = fit_transfer(from, read_tab_set(options.to));
  const TabSet carried =
      apply(transfer, options.carry.empty() ? from : read_tab_set(options.carry));
  const std::string document = to_json(carried);
  if (!options.out.empty()) write_new_file("--out", options.out, document, options.replace);
  print_warnings(transfer.warnings);
  print(options.json ? document : transfer_text(Terminal::of_stdout(), transfer));
  return exit_code::done;
}

}  // namespace

void add_transfer(CLI::App& tabs, Action& chosen) {
  auto [verb, options] = add_verb(
      tabs, "transfer", "A tab set as another instrument would read it, from tabs read on both",
      chosen, transfer_tabs);
  add_needed(verb, "FROM", "FILE", options.from,
             "Tabs as the first instrument read them (JSON document)");
  add_needed(verb, "TO", "FILE", options.to,
             "Tabs as the other instrument read them; 4 or more in both");
  add_value(verb, "--carry", "FILE", options.carry,
            "The set of the first instrument to carry over, in place of FROM itself");
  add_value(verb, "--out", "FILE", options.out,
            "Write the set carried over (JSON document) to this file");
  add_replace_flag(verb, options.replace);
  verb.add_flag("--json", options.json, "The set carried over on standard output");
  verb.footer("Example:\n  mamelon tabs transfer mine.json clinic.json --out carried.json");
}

}  // namespace mamelon::cli

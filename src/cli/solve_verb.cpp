// `mamelon solve`: a case from its file, as `shade` or `plan` wrote it.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/error.h"
#include "mamelon/files.h"
#include "mamelon/limits.h"

#include "base/listing.h"
#include "cli/print.h"
#include "cli/shared_options.h"
#include "cli/show.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  std::string file;
  ShowOptions show;
};

// What a practice knows of this case beside what was given is said, not taken up: the answer stays
// that of the case.
void tell_of_outcomes(const std::string& zip, const std::string& name) {
  std::string told;
  try {
    const std::optional<std::size_t> outcomes = outcomes_kept(zip, name);
    if (outcomes.value_or(0) > 0)
      told = "a practice keeps this case with " +
             detail::counted(*outcomes, "outcome", "outcomes") +
             ", which this answer does not look at: mamelon case show has them, mamelon case plan "
             "the plan with what was learnt";
  } catch (const DataError& error) {
    told = std::string("what a practice keeps with this case cannot be read: ") + error.what();
  }
  if (!told.empty()) print_warnings(std::vector<std::string>{told});
}

int run(const Options& options) {
  check_show_options(options.show);
  const std::filesystem::path file(options.file);
  const std::string name = file.filename().string();
  const std::string zip = read_file(file, limits::photo_bytes);
  const Case given = parse_case(zip, name);
  tell_of_outcomes(zip, name);
  return solve_and_show(given, options.show);
}

}  // namespace

void add_solve(CLI::App& app, Action& chosen) {
  auto [verb, options] =
      add_verb(app, "solve", "A saved case again: the same case, the same answer", chosen, run);
  add_needed(verb, "CASE", "FILE", options.file,
             "The case (zip), as --save of shade or plan writes it");
  add_show_options(verb, options.show, false);
  verb.footer(
      "Exit codes are those of shade and plan.\n\nExample:\n  mamelon solve case.zip --sheet "
      "sheet.html");
}

}  // namespace mamelon::cli

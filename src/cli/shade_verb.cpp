// `mamelon shade`: photo or readings to ranked tabs per zone.

#include "cli/case_options.h"
#include "cli/show.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  CaseOptions given;
  ShowOptions show;
};

int run(const Options& options) {
  check_show_options(options.show);
  return solve_and_show(case_of(options.given), options.show);
}

}  // namespace

void add_shade(CLI::App& app, Action& chosen) {
  auto [verb, options] =
      add_verb(app, "shade", "A photo or readings to ranked tabs per zone", chosen, run);
  add_input_options(verb, options.given);
  add_case_options(verb, options.given);
  add_show_options(verb, options.show, true);
  verb.footer(
      "The exit code is 1 when a zone has no tab within the acceptance threshold, or is read too "
      "uncertainly for a grade.\n\nExample:\n"
      "  mamelon shade data/photos/front_teeth.jpg --card data/cards/tooth20_frame.json "
      "--tabs data/tabs/orchard16.json --sheet shade.html");
}

}  // namespace mamelon::cli

// `mamelon shade` and `mamelon plan`: photo or readings to ranked tabs, and on to increments.

#include "cli/case_options.h"
#include "cli/show.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  CaseOptions given;
  RestorationOptions restoration;
  ShowOptions show;
};

int run_shade(const Options& options) {
  check_show_options(options.show);
  return solve_and_show(case_of(options.given), options.show);
}

int run_plan(const Options& options) {
  check_show_options(options.show);
  Case given = case_of(options.given, is_floor_in_photo(options.restoration, options.given.photo));
  given.restoration = restoration_of(options.restoration, options.given.photo);
  return solve_and_show(given, options.show);
}

}  // namespace

void add_shade(CLI::App& app, Action& chosen) {
  auto [verb, options] =
      add_verb(app, "shade", "A photo or readings to ranked tabs per zone", chosen, run_shade);
  add_input_options(verb, options.given);
  add_case_options(verb, options.given);
  add_show_options(verb, options.show, true);
  verb.footer(
      "The exit code is 1 when a zone has no tab within the acceptance threshold, or is read too "
      "uncertainly for a grade.\n\nExample:\n"
      "  mamelon shade data/photos/front_teeth.jpg --card data/cards/tooth20_frame.json "
      "--tabs data/tabs/orchard16.json --sheet shade.html");
}

void add_plan(CLI::App& app, Action& chosen) {
  auto [verb, options] = add_verb(
      app, "plan", "A photo or readings to ranked tabs and layered increments", chosen, run_plan);
  add_input_options(verb, options.given);
  add_restoration_options(verb, options.restoration, true);
  add_case_options(verb, options.given);
  add_show_options(verb, options.show, true);
  verb.footer(
      "The exit code is 1 when no plan is within the acceptance threshold, or the tooth is read "
      "too uncertainly to plan for.\n\nExample:\n"
      "  mamelon plan data/photos/front_teeth.jpg --card data/cards/tooth20_frame.json "
      "--tabs data/tabs/orchard16.json --pastes data/pastes/orchard10.json "
      "--floor data/floors/dark_dentine.csv --depth 3 --lamp 1000 --sheet sheet.html");
}

}  // namespace mamelon::cli

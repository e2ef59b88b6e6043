// `mamelon shade`: photo or readings to ranked tabs per zone.

#include <algorithm>
#include <memory>
#include <optional>
#include <string>

#include "cli/print.h"
#include "cli/rank.h"
#include "cli/shared_options.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

int run(const RankOptions& options) {
  check_output(options.sheet);
  std::optional<Progress> progress(std::in_place);
  Ranking ranking(options, *progress);
  progress.reset();
  Report& report = ranking.report;
  const auto far_off = std::find_if(report.matches.begin(), report.matches.end(), [](auto& m) {
    return m.ranked.front().de00 > threshold::acceptable_de00;
  });
  if (far_off != report.matches.end()) {
    const auto i = static_cast<std::size_t>(far_off - report.matches.begin());
    report.warnings.push_back("no tab is within the acceptance threshold of " +
                              name_of(report.readings[i]) + ": the nearest is " +
                              far_off->ranked.front().tab);
  }
  deliver(options, report, [&](const Terminal& terminal) {
    return shade_text(terminal, report, ranking.top) + cautions_text(terminal);
  });
  return far_off == report.matches.end() ? exit_code::done : exit_code::negative;
}

}  // namespace

void add_shade(CLI::App& app, Action& chosen) {
  const auto options = std::make_shared<RankOptions>();
  CLI::App* verb = app.add_subcommand("shade", "A photo or readings to ranked tabs per zone");
  add_input_options(*verb, *options);
  add_rank_options(*verb, *options);
  verb->footer(
      "The exit code is 1 when a zone has no tab within the acceptance threshold.\n\nExample:\n"
      "  mamelon shade data/photos/front_teeth.jpg --card data/cards/tooth20.json "
      "--tabs data/tabs/orchard16.json --sheet shade.html");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli

// `mamelon study`: a manifest of many photos or readings to one table. The work is that of the
// Python package mamelon.study; this verb says how to call it, and calls it.

#include <memory>
#include <string>
#include <vector>

#include "cli/python_package.h"
#include "cli/shared_options.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

struct Options {
  std::string manifest;
  std::vector<std::string> tabs;
  std::string output, card, like, prior;
  std::string viewing = "D65/2";
  std::string rows = "summary";
  std::string weights = "1:1:1";
  std::string draws = "4096";
  std::string seed = "1";
  std::string margin_mm = "0.4";
  std::string processes;
  bool camera_rendering = false;
  bool fresh = false;
  bool quiet = false;
  bool plain_csv = false;
  bool json = false;
};

std::vector<std::string> words_of(const Options& options) {
  std::vector<std::string> words = {
      options.manifest,         "--output=" + options.output,   "--viewing=" + options.viewing,
      "--rows=" + options.rows, "--weights=" + options.weights, "--draws=" + options.draws,
      "--seed=" + options.seed, "--margin=" + options.margin_mm};
  for (const std::string& tabs : options.tabs) words.push_back("--tabs=" + tabs);
  if (!options.card.empty()) words.push_back("--card=" + options.card);
  if (!options.like.empty()) words.push_back("--like=" + options.like);
  if (!options.prior.empty()) words.push_back("--prior=" + options.prior);
  if (!options.processes.empty()) words.push_back("--processes=" + options.processes);
  if (options.camera_rendering) words.emplace_back("--camera-rendering");
  if (options.fresh) words.emplace_back("--fresh");
  if (options.plain_csv) words.emplace_back("--plain-csv");
  if (options.quiet) words.emplace_back("--quiet");
  if (options.json) words.emplace_back("--json");
  return words;
}

int run(const Options& options) {
  run_python("study", "mamelon.study.__main__", words_of(options));
}

}  // namespace

void add_study(CLI::App& app, Action& chosen) {
  const auto options = std::make_shared<Options>();
  CLI::App* verb = app.add_subcommand(
      "study", "A manifest of many photos or readings to one table, parallel and resumable");
  add_needed(
      *verb, "MANIFEST", "FILE", options->manifest,
      "CSV with a column item and, a row, photo and card, or L,a,b, or curve, or case; other "
      "columns are covariates");
  add_needed(*verb, "--tabs", "FILE", options->tabs,
             "Your measured tabs (JSON document); repeatable");
  add_needed(*verb, "--output", "FILE", options->output,
             "Table to write: .csv, or .parquet (needs pandas)");
  add_value(*verb, "--card", "FILE", options->card, "Card of the photos whose row names none");
  add_value(*verb, "--like", "CASE", options->like,
            "A saved case that every item takes what it does not state from: the card, and "
            "what is to be placed over which floor");
  add_value(*verb, "--viewing", "ILL/OBS", options->viewing,
            "Illuminant and observer (2 or 10 degrees) of every colour");
  add_value(*verb, "--rows", "WHAT", options->rows,
            "summary: one row a zone, with its nearest tab; tabs: one row a tab");
  add_weights_option(*verb, options->weights);
  add_value(*verb, "--prior", "generated|none|FILE", options->prior,
            "What is known of teeth before one is read: generated, none, or a table of your "
            "own teeth; that of an item's case or of --like unless given");
  add_value(*verb, "--draws", "N", options->draws,
            "Size of the sample behind chances and intervals");
  add_value(*verb, "--seed", "N", options->seed, "Seed of that sample");
  add_value(*verb, "--margin", "MM", options->margin_mm, "Rim of the tooth to leave out, in mm");
  verb->add_flag("--camera-rendering", options->camera_rendering,
                 "Photos have a camera's own tone curve: learn it from the card's greys");
  add_value(*verb, "--processes", "N", options->processes,
            "Worker processes; all processors when not given");
  verb->add_flag("--fresh", options->fresh, "Start again; do not go on where a study was stopped");
  add_plain_csv_flag(*verb, options->plain_csv);
  verb->add_flag("--quiet", options->quiet, "No progress bar");
  verb->add_flag("--json", options->json, "The record of the study on standard output");
  verb->footer(
      "The exit code is 1 when every item failed and 130 when interrupted: run the same command "
      "again to go on. Needs Python with the package mamelon; MAMELON_PYTHON names another "
      "interpreter.\n\nExample:\n"
      "  mamelon study manifest.csv --tabs data/tabs/orchard16.json --output study.csv");
  verb->callback([options, &chosen] { chosen = [options] { return run(*options); }; });
}

}  // namespace mamelon::cli

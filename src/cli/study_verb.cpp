// `mamelon study`: a manifest of many photos or readings to one table. The work is that of the
// Python package mamelon.study; this verb says how to call it, and calls it.

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include <unistd.h>

#include "mamelon/error.h"

#include "cli/shared_options.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

namespace fs = std::filesystem;

struct Options {
  std::string manifest;
  std::vector<std::string> tabs;
  std::string output, card, like;
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
  bool json = false;
};

// Runs the package, or says in one sentence why it cannot be had.
constexpr const char* starter =
    "import sys\n"
    "try:\n"
    "    from mamelon.study.__main__ import main\n"
    "except ImportError as error:\n"
    "    sys.stderr.write('mamelon: the verb study needs the Python package mamelon, which '\n"
    "        + sys.executable + ' cannot import (' + str(error).split('\\n')[0] + '): install it "
    "'\n"
    "        'with pip, or name another interpreter in MAMELON_PYTHON\\n')\n"
    "    sys.exit(6)\n"
    "sys.exit(main(sys.argv[1:]))\n";

fs::path folder_of_command() {
  std::error_code failed;
  const fs::path command = fs::read_symlink("/proc/self/exe", failed);
  return failed ? fs::path() : command.parent_path();
}

// The interpreter named by the user, else the one that the command was installed beside, else the
// one on the path.
std::string interpreter() {
  if (const char* named = std::getenv("MAMELON_PYTHON"); named != nullptr && *named != '\0') {
    return named;
  }
  const fs::path beside = folder_of_command() / "python3";
  return ::access(beside.c_str(), X_OK) == 0 ? beside.string() : "python3";
}

// In a build tree the package stands two folders above the command's.
void show_package_of_build_tree() {
  const fs::path package = folder_of_command().parent_path().parent_path() / "python";
  std::error_code failed;
  if (!fs::exists(package / "mamelon" / "__init__.py", failed)) return;
  const char* given = std::getenv("PYTHONPATH");
  const std::string path =
      package.string() + (given != nullptr && *given != '\0' ? ":" + std::string(given) : "");
  ::setenv("PYTHONPATH", path.c_str(), 1);
}

std::vector<std::string> words_of(const Options& options) {
  std::vector<std::string> words = {
      options.manifest,         "--output=" + options.output,   "--viewing=" + options.viewing,
      "--rows=" + options.rows, "--weights=" + options.weights, "--draws=" + options.draws,
      "--seed=" + options.seed, "--margin=" + options.margin_mm};
  for (const std::string& tabs : options.tabs) words.push_back("--tabs=" + tabs);
  if (!options.card.empty()) words.push_back("--card=" + options.card);
  if (!options.like.empty()) words.push_back("--like=" + options.like);
  if (!options.processes.empty()) words.push_back("--processes=" + options.processes);
  if (options.camera_rendering) words.emplace_back("--camera-rendering");
  if (options.fresh) words.emplace_back("--fresh");
  if (options.quiet) words.emplace_back("--quiet");
  if (options.json) words.emplace_back("--json");
  return words;
}

int run(const Options& options) {
  show_package_of_build_tree();
  std::vector<std::string> words = {interpreter(), "-c", starter};
  for (std::string& word : words_of(options)) words.push_back(std::move(word));
  std::vector<char*> arguments;
  for (std::string& word : words) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  std::cout << std::flush;
  // Takes this process's place, so that signals and the exit code are the study's own.
  ::execvp(arguments[0], arguments.data());
  throw IoError("the verb study needs Python, and " + words[0] + " cannot be started: " +
                std::strerror(errno) + "; install python3, or name it in MAMELON_PYTHON");
}

}  // namespace

void add_study(CLI::App& app, Action& chosen) {
  const auto options = std::make_shared<Options>();
  CLI::App* verb = app.add_subcommand(
      "study", "A manifest of many photos or readings to one table, parallel and resumable");
  verb->add_option(
          "MANIFEST", options->manifest,
          "CSV with a column item and, a row, photo and card, or L,a,b, or curve, or case; other "
          "columns are covariates")
      ->type_name("FILE")
      ->required();
  verb->add_option("--tabs", options->tabs, "Your measured tabs (JSON document); repeatable")
      ->type_name("FILE")
      ->required();
  verb->add_option("--output", options->output, "Table to write: .csv, or .parquet (needs pandas)")
      ->type_name("FILE")
      ->required();
  verb->add_option("--card", options->card, "Card of the photos whose row names none")
      ->type_name("FILE");
  verb->add_option("--like", options->like,
                   "A saved case that every item takes what it does not state from: the card, and "
                   "what is to be placed over which floor")
      ->type_name("CASE");
  verb->add_option("--viewing", options->viewing,
                   "Illuminant and observer (2 or 10 degrees) of every colour")
      ->type_name("ILL/OBS")
      ->capture_default_str();
  verb->add_option("--rows", options->rows,
                   "summary: one row a zone, with its nearest tab; tabs: one row a tab")
      ->type_name("WHAT")
      ->capture_default_str();
  add_weights_option(*verb, options->weights);
  verb->add_option("--draws", options->draws, "Size of the sample behind chances and intervals")
      ->type_name("N")
      ->capture_default_str();
  verb->add_option("--seed", options->seed, "Seed of that sample")
      ->type_name("N")
      ->capture_default_str();
  verb->add_option("--margin", options->margin_mm, "Rim of the tooth to leave out, in mm")
      ->type_name("MM")
      ->capture_default_str();
  verb->add_flag("--camera-rendering", options->camera_rendering,
                 "Photos have a camera's own tone curve: learn it from the card's greys");
  verb->add_option("--processes", options->processes,
                   "Worker processes; all processors when not given")
      ->type_name("N");
  verb->add_flag("--fresh", options->fresh, "Start again; do not go on where a study was stopped");
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

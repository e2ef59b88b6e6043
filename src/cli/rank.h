#pragma once
// What `shade` and `plan` have in common: readings ranked against tabs, and where the report goes.

#include <cstddef>
#include <functional>
#include <string>

#include <CLI/CLI.hpp>

#include "mamelon/mamelon.h"

#include "cli/measure.h"
#include "cli/terminal.h"

namespace mamelon::cli {

struct RankOptions {
  MeasureOptions measure;
  std::string tabs;
  std::string weights = "1:1:1";
  std::string top = "5";
  std::string sheet;
  bool json = false;
};

// The input and the tabs, which stand first in a verb's help.
void add_input_options(CLI::App& verb, RankOptions& options);
// The rest of them.
void add_rank_options(CLI::App& verb, RankOptions& options);

// One run's readings against the tabs. The report points into the rest: it stays where it is made.
struct Ranking {
  Ranking(const RankOptions& options, Progress& progress);
  Ranking(const Ranking&) = delete;
  Ranking& operator=(const Ranking&) = delete;

  MatchOptions match_options;
  std::size_t top;
  TabSet tabs;
  Measurement measurement;
  Report report;
};

// Writes the sheet where one is asked for, the warnings, and the document or `text`.
void deliver(const RankOptions& options, const Report& report,
             const std::function<std::string(const Terminal&)>& text);

}  // namespace mamelon::cli

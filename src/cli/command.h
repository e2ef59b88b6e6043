#pragma once
// The command line as a value: built, parsed, run. Parsing reads and writes no file.

#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "cli/verbs.h"

namespace mamelon::cli {

class Command {
 public:
  Command();
  // The verbs hold references into it.
  Command(const Command&) = delete;
  Command& operator=(const Command&) = delete;

  // `words` as the shell gave them, without the program's name. Throws CLI::Success where help or
  // the version was asked for and CLI::ParseError for wrong use.
  void parse(const std::vector<std::string>& words);
  // Runs the verb that was parsed; returns the exit code and throws what the library throws.
  [[nodiscard]] int run() const;
  [[nodiscard]] const CLI::App& app() const { return app_; }

 private:
  CLI::App app_;
  Action chosen_;
  std::string shell_;
};

}  // namespace mamelon::cli

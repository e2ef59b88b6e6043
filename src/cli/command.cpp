#include "cli/command.h"

#include "mamelon/provenance.h"

#include "cli/describe.h"
#include "cli/print.h"

namespace mamelon::cli {
namespace {

// A negative number after an option would be taken for an option of its own: `--depth -3` becomes
// `--depth=-3`, so that the verb can say what is wrong with it. CLI11 takes words from the back.
std::vector<std::string> from_the_back(const std::vector<std::string>& words) {
  std::vector<std::string> arguments;
  for (const std::string& word : words) {
    const bool negative =
        word.size() > 1 && word[0] == '-' && (word[1] == '.' || (word[1] >= '0' && word[1] <= '9'));
    if (negative && !arguments.empty() && arguments.back().starts_with("--") &&
        arguments.back().find('=') == std::string::npos) {
      arguments.back() += "=" + word;
    } else {
      arguments.push_back(word);
    }
  }
  return {arguments.rbegin(), arguments.rend()};
}

}  // namespace

Command::Command()
    : app_(
          "Tooth shade and layering: photos with a reference card, or instrument readings, to "
          "CIELAB, ranked shade tabs and composite increments.",
          "mamelon") {
  app_.set_version_flag("--version", std::string(library_version()));
  app_.require_subcommand(1);
  app_.footer(
      "Exit codes: 0 done; 1 an honest negative answer; 2 wrong use; 3 malformed file; 4 unusable "
      "photo; 5 outside the model's domain; 6 input or output failed; 130 stopped by Ctrl-C.\n"
      "`mamelon VERB --help` says all about a verb. The environment variable MAMELON_THREADS "
      "limits "
      "the threads; results do not depend on it.");
  add_lab(app_, chosen_);
  add_diff(app_, chosen_);
  add_card(app_, chosen_);
  add_shade(app_, chosen_);
  add_plan(app_, chosen_);
  add_solve(app_, chosen_);
  add_tabs(app_, chosen_);
  add_paste(app_, chosen_);
  add_python_verbs(app_, chosen_);
  CLI::App* completion =
      app_.add_subcommand("completion", "A completion script for your shell, on standard output");
  completion->add_option("SHELL", shell_, "bash, zsh or fish")->required();
  completion->footer("Example:\n  mamelon completion bash > mamelon.bash");
  completion->callback([this] {
    chosen_ = [this] {
      print(completion_script(app_, shell_));
      return exit_code::done;
    };
  });
  CLI::App* manual = app_.add_subcommand("manual", "The man page, on standard output");
  manual->footer("Example:\n  mamelon manual > mamelon.1");
  manual->callback([this] {
    chosen_ = [this] {
      print(manual_page(app_));
      return exit_code::done;
    };
  });
}

void Command::parse(const std::vector<std::string>& words) {
  app_.parse(from_the_back(words));
}

int Command::run() const {
  return chosen_();
}

}  // namespace mamelon::cli

// The command: parses, runs one verb, turns errors into one sentence and an exit code.

#include <exception>
#include <iostream>
#include <new>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "mamelon/error.h"
#include "mamelon/provenance.h"

#include "cli/describe.h"
#include "cli/print.h"
#include "cli/verbs.h"

namespace mamelon::cli {
namespace {

int code_of(ErrorKind kind) {
  switch (kind) {
    case ErrorKind::argument:
      return exit_code::wrong_use;
    case ErrorKind::data:
      return exit_code::malformed;
    case ErrorKind::capture:
      return exit_code::capture;
    case ErrorKind::model:
      return exit_code::model;
    case ErrorKind::io:
      break;
  }
  return exit_code::io;
}

int fail(int code, const std::string& sentence) {
  std::string line = sentence;
  for (char& c : line) {
    if (c == '\n' || c == '\r') c = ' ';
  }
  std::cerr << "mamelon: " << line << '\n';
  return code;
}

// A negative number after an option would be taken for an option of its own: `--depth -3` becomes
// `--depth=-3`, so that the verb can say what is wrong with it.
std::vector<std::string> arguments_of(int argc, char** argv) {
  std::vector<std::string> arguments;
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    const bool negative =
        word.size() > 1 && word[0] == '-' && (word[1] == '.' || (word[1] >= '0' && word[1] <= '9'));
    if (negative && !arguments.empty() && arguments.back().starts_with("--") &&
        arguments.back().find('=') == std::string::npos) {
      arguments.back() += "=" + word;
    } else {
      arguments.push_back(word);
    }
  }
  return {arguments.rbegin(), arguments.rend()};  // CLI11 takes them from the back
}

int run(int argc, char** argv) {
  CLI::App app(
      "Tooth shade and layering: photos with a reference card, or instrument readings, to CIELAB, "
      "ranked shade tabs and composite increments.",
      "mamelon");
  app.set_version_flag("--version", std::string(library_version()));
  app.require_subcommand(1);
  app.footer(
      "Exit codes: 0 done; 1 an honest negative answer; 2 wrong use; 3 malformed file; 4 unusable "
      "photo; 5 outside the model's domain; 6 input or output failed.\n"
      "`mamelon VERB --help` says all about a verb.");
  Action chosen;
  add_lab(app, chosen);
  add_diff(app, chosen);
  add_card(app, chosen);
  add_shade(app, chosen);
  add_plan(app, chosen);
  add_tabs(app, chosen);
  add_paste(app, chosen);
  std::string shell;
  CLI::App* completion =
      app.add_subcommand("completion", "A completion script for your shell, on standard output");
  completion->add_option("SHELL", shell, "bash, zsh or fish")->required();
  completion->footer("Example:\n  mamelon completion bash > mamelon.bash");
  completion->callback([&] {
    chosen = [&] {
      print(completion_script(app, shell));
      return exit_code::done;
    };
  });
  CLI::App* manual = app.add_subcommand("manual", "The man page, on standard output");
  manual->footer("Example:\n  mamelon manual > mamelon.1");
  manual->callback([&] {
    chosen = [&] {
      print(manual_page(app));
      return exit_code::done;
    };
  });
  try {
    app.parse(arguments_of(argc, argv));
  } catch (const CLI::Success& success) {
    return app.exit(success);
  } catch (const CLI::ParseError& error) {
    return fail(exit_code::wrong_use, std::string(error.what()) + " (see mamelon --help)");
  }
  return chosen();
}

}  // namespace
}  // namespace mamelon::cli

int main(int argc, char** argv) {
  using namespace mamelon;
  try {
    return cli::run(argc, argv);
  } catch (const Error& error) {
    return cli::fail(cli::code_of(error.kind()), error.what());
  } catch (const std::bad_alloc&) {
    return cli::fail(cli::exit_code::io, "there is not enough memory for this file");
  } catch (const std::exception& error) {
    return cli::fail(cli::exit_code::model, std::string("unexpected failure: ") + error.what());
  }
}

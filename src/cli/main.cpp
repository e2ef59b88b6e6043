// The command: parses, runs one verb, turns errors into one sentence and an exit code.

#include <exception>
#include <iostream>
#include <new>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "mamelon/error.h"

#include "cli/command.h"

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
    case ErrorKind::stopped:
      return exit_code::stopped;
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
  std::cerr << "mamelon: " << printable(line) << '\n';
  return code;
}

int run(int argc, char** argv) {
  Command command;
  try {
    command.parse({argv + (argc > 0 ? 1 : 0), argv + argc});
  } catch (const CLI::Success& success) {
    return command.app().exit(success);
  } catch (const CLI::ParseError& error) {
    const std::string verb = argc > 1 ? argv[1] : "-";
    const auto is_named = [&](const CLI::App* one) { return one->check_name(verb); };
    if (verb[0] != '-' && command.app().get_subcommands(is_named).empty()) {
      return fail(exit_code::wrong_use,
                  "there is no verb \"" + verb + "\" (mamelon --help lists them)");
    }
    return fail(exit_code::wrong_use, std::string(error.what()) + " (see mamelon --help)");
  }
  return command.run();
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

#pragma once
// The verbs of the command. Each registers its options and the function that does its work.

#include <functional>
#include <memory>
#include <string>
#include <utility>

#include <CLI/CLI.hpp>

namespace mamelon::cli {

// What the chosen verb does; returns the exit code.
using Action = std::function<int()>;

// A verb whose options are the fields of a struct, and what it does with them.
template <class Options>
std::pair<CLI::App&, Options&> add_verb(CLI::App& above, const std::string& name,
                                        const std::string& help, Action& chosen,
                                        int (*run)(const Options&)) {
  const auto options = std::make_shared<Options>();
  CLI::App* const verb = above.add_subcommand(name, help);
  verb->callback([options, run, &chosen] { chosen = [options, run] { return run(*options); }; });
  return {*verb, *options};
}

namespace exit_code {
inline constexpr int done = 0;
inline constexpr int negative = 1;  // an honest negative answer
inline constexpr int wrong_use = 2;
inline constexpr int malformed = 3;
inline constexpr int capture = 4;
inline constexpr int model = 5;
inline constexpr int io = 6;
inline constexpr int stopped = 130;  // as a shell calls what Ctrl-C ended
}  // namespace exit_code

void add_lab(CLI::App& app, Action& chosen);
void add_diff(CLI::App& app, Action& chosen);
void add_card(CLI::App& app, Action& chosen);
void add_shade(CLI::App& app, Action& chosen);
void add_plan(CLI::App& app, Action& chosen);
void add_solve(CLI::App& app, Action& chosen);
void add_tabs(CLI::App& app, Action& chosen);
void add_paste(CLI::App& app, Action& chosen);
// `study`, `case …` and `follow`.
void add_python_verbs(CLI::App& app, Action& chosen);

// Of `tabs`.
void add_align(CLI::App& tabs, Action& chosen);
void add_crosswalk(CLI::App& tabs, Action& chosen);
void add_transfer(CLI::App& tabs, Action& chosen);

// Of `paste`.
void add_paste_fit(CLI::App& paste, Action& chosen);
void add_paste_template(CLI::App& paste, Action& chosen);
void add_paste_shift(CLI::App& paste, Action& chosen);

}  // namespace mamelon::cli

#pragma once
// The verbs of the command. Each registers its options and the function that does its work.

#include <functional>
#include <optional>

#include <CLI/CLI.hpp>

namespace mamelon::cli {

// What the chosen verb does; returns the exit code.
using Action = std::function<int()>;

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
void add_study(CLI::App& app, Action& chosen);
void add_practice(CLI::App& app, Action& chosen);

}  // namespace mamelon::cli

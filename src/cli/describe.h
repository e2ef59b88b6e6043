#pragma once
// The command as text made from its own options: a man page and completion for shells.

#include <string>
#include <string_view>

#include <CLI/CLI.hpp>

namespace mamelon::cli {

// A page for `man`, in the macros of man(7).
std::string manual_page(const CLI::App& app);

// A completion script for `bash`, `zsh` or `fish`. Throws ArgumentError for another shell.
std::string completion_script(const CLI::App& app, std::string_view shell);

}  // namespace mamelon::cli

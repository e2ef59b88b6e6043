#pragma once
// Verbs whose work is that of the Python package take its interpreter in this process's place.

#include <string>
#include <vector>

namespace mamelon::cli {

// Runs `main` of `module` with these words; does not return where Python starts. `verb` stands in
// the sentence that says what is missing. Throws IoError where Python cannot be started.
[[noreturn]] void run_python(const std::string& verb, const std::string& module,
                             const std::vector<std::string>& words);

}  // namespace mamelon::cli

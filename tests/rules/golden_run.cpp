// One run of the command with the kernels of each instruction set that this processor has: prints
// "== NAME" and then what the command printed, set after set.
//   golden_run VERB …

#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include "cli/command.h"
#include "cpp/colour/every_target.h"

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  int worst = 0;
  try {
    mamelon::testing_data::on_every_target([&](const std::string& name) {
      std::cout << "== " << name << std::endl;
      mamelon::cli::Command command;
      command.parse(words);
      worst = std::max(worst, command.run());
      std::cout << std::flush;
    });
  } catch (const std::exception& error) {
    std::cerr << "golden_run: " << error.what() << '\n';
    return 2;
  }
  return worst > 1 ? 2 : 0;
}

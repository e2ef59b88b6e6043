// Any words on the command line, one a line: a verb ready to run, or one sentence.
#include "mamelon/error.h"

#include "cli/command.h"
#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::vector<std::string> words{""};
  for (const char c : fuzz::text(data, size)) {
    if (c == '\n')
      words.emplace_back();
    else if (c != '\0')  // a shell cannot pass it
      words.back() += c;
  }
  try {
    mamelon::cli::Command command;
    command.parse(words);
  } catch (const CLI::Error&) {
  } catch (const mamelon::Error&) {
  }
  return 0;
}

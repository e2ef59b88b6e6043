// Any bytes: a card or one sentence. What was read must write and read back the same.
#include "mamelon/files.h"

#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  try {
    const std::string written =
        mamelon::to_json(mamelon::parse_card(fuzz::text(data, size), "input"));
    if (mamelon::to_json(mamelon::parse_card(written, "written")) != written) __builtin_trap();
  } catch (const mamelon::Error&) {
  }
  return 0;
}

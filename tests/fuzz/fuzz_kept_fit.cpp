// Any bytes: a kept fit or one sentence. What was read must write and read back the same, and be
// made again or refused in a sentence.
#include "mamelon/files.h"
#include "mamelon/kept_fit.h"

#include "capture/later.h"
#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const mamelon::Viewing viewing = mamelon::viewing_from_string("D65/2");
  try {
    const mamelon::KeptFit kept = mamelon::parse_kept_fit(fuzz::text(data, size), "input");
    const std::string written = mamelon::to_json(kept);
    if (mamelon::to_json(mamelon::parse_kept_fit(written, "written")) != written) __builtin_trap();
    (void)mamelon::detail::fit_again(kept, viewing);
  } catch (const mamelon::Error&) {
  }
  return 0;
}

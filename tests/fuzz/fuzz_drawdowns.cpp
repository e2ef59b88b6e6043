// Any bytes: drawdowns or one sentence.
#include "mamelon/paste_report.h"

#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const mamelon::Viewing viewing = mamelon::viewing_from_string("D65/2");
  try {
    (void)mamelon::parse_drawdowns(fuzz::text(data, size), "input", viewing);
  } catch (const mamelon::Error&) {
  }
  return 0;
}

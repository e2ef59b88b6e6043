// Any bytes: a table of readings or one sentence.
#include "mamelon/files.h"

#include "input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const mamelon::Viewing viewing = mamelon::viewing_from_string("D65/2");
  try {
    (void)mamelon::parse_table(fuzz::text(data, size), "input", viewing);
  } catch (const mamelon::Error&) {
  }
  return 0;
}

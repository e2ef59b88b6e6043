// Any bytes as a case's file, or, after a first byte of `{`, as the document in one: a case or one
// sentence. What was read must write and read back the same.
#include "mamelon/files.h"

#include "input.h"
#include "io/zip_archive.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string bytes(fuzz::text(data, size));
  const bool document = !bytes.empty() && bytes[0] == '{';
  std::string written;
  try {
    written = mamelon::to_zip(mamelon::parse_case(
        document ? mamelon::detail::write_zip({{"case.json", bytes}}) : bytes, "input"));
  } catch (const mamelon::Error&) {
    return 0;
  }
  if (mamelon::to_zip(mamelon::parse_case(written, "written")) != written) __builtin_trap();
  return 0;
}

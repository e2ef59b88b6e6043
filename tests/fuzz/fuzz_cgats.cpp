// Any bytes as ISO 28178 text: readings or one sentence. Readings must write and read back the
// same.
#include "round_trip.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string bytes(fuzz::text(data, size));
  // Most bytes would be read as CSV otherwise.
  if (!bytes.starts_with("CGATS.17")) bytes.insert(0, "CGATS.17\n");
  fuzz::read_write_read(bytes, [](const auto& readings) { return mamelon::to_cgats(readings); });
  return 0;
}

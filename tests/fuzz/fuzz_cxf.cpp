// Any bytes as CxF3: readings or one sentence. Readings must write and read back the same.
#include "round_trip.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::string bytes(fuzz::text(data, size));
  if (!bytes.starts_with("<?xml")) bytes.insert(0, "<?xml version=\"1.0\"?>\n");
  fuzz::read_write_read(bytes, [](const auto& readings) { return mamelon::to_cxf(readings); });
  return 0;
}

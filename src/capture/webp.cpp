// WebP by libwebp.

#include <cstdint>
#include <memory>
#include <vector>

#include <webp/decode.h>
#include <webp/demux.h>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "capture/exif.h"
#include "capture/phone_files.h"

namespace mamelon::detail {
namespace {

struct FreeDemuxer {
  void operator()(WebPDemuxer* demuxer) const { WebPDemuxDelete(demuxer); }
};

// A chunk beside the pixels; empty where there is none.
std::span<const std::uint8_t> chunk(const WebPDemuxer* demuxer, const char* name) {
  WebPChunkIterator at;
  if (WebPDemuxGetChunk(demuxer, name, 1, &at) == 0) return {};
  const std::span<const std::uint8_t> found(at.chunk.bytes, at.chunk.size);
  WebPDemuxReleaseChunkIterator(&at);
  return found;
}

void take_exif(std::span<const std::uint8_t> block, RasterFacts& facts) {
  if (block.empty()) return;
  const auto exif = read_exif(std::as_bytes(block));
  if (!exif) {
    facts.warnings.emplace_back("the EXIF block is malformed and was ignored");
    return;
  }
  facts.orientation = exif->orientation;
  facts.declared_srgb = exif->declared_srgb;
  facts.settings = exif->settings;
}

}  // namespace

void decode_webp(std::span<const std::byte> bytes, const std::string& source,
                 const RasterSink& sink) {
  const auto* data = reinterpret_cast<const std::uint8_t*>(bytes.data());
  WebPBitstreamFeatures features;
  if (WebPGetFeatures(data, bytes.size(), &features) != VP8_STATUS_OK) {
    throw DataError(source + ": not a usable WebP file");
  }
  if (features.has_animation != 0) {
    throw CaptureError(source + ": a moving WebP picture; export one photo");
  }
  RasterFacts facts;
  facts.width = static_cast<std::size_t>(features.width);
  facts.height = static_cast<std::size_t>(features.height);
  facts.lossy = features.format != 2;
  check_photo_size(facts.width, facts.height, source);
  check_photo_memory(facts.width, facts.height, 3, bytes.size() + 8 * facts.width * facts.height,
                     source);
  const WebPData whole = {data, bytes.size()};
  const std::unique_ptr<WebPDemuxer, FreeDemuxer> demuxer(WebPDemux(&whole));
  if (!demuxer) throw DataError(source + ": the WebP file is truncated or damaged");
  const auto profile = chunk(demuxer.get(), "ICCP");
  if (profile.size() > limits::profile_bytes) {
    throw DataError(source + ": its colour profile is larger than " +
                    std::to_string(limits::profile_bytes >> 20U) + " MiB");
  }
  facts.icc.assign(profile.begin(), profile.end());
  take_exif(chunk(demuxer.get(), "EXIF"), facts);
  std::vector<std::uint8_t> codes(3 * facts.width * facts.height);
  if (WebPDecodeRGBInto(data, bytes.size(), codes.data(), codes.size(), 3 * features.width) ==
      nullptr) {
    throw DataError(source + ": the WebP file is truncated or damaged");
  }
  sink.begin(facts);
  sink.put8(codes.data(), facts.height);
}

}  // namespace mamelon::detail

#include "capture/photo_writer.h"

#include <algorithm>
#include <array>

#ifdef __linux__
#include <sys/mman.h>
#endif

#include "base/parallel.h"

namespace mamelon::detail {
namespace {

// Asks for pages of 2 MiB where the system has them: touching 150 MB in pages of 4 KiB costs about
// as much as decoding into them.
template <class T>
void prefer_huge_pages([[maybe_unused]] T* data, [[maybe_unused]] std::size_t count) {
#if defined(__linux__) && defined(MADV_HUGEPAGE)
  constexpr std::uintptr_t page = std::uintptr_t{2} << 20;
  const auto begin = (reinterpret_cast<std::uintptr_t>(data) + page - 1) / page * page;
  const auto end = reinterpret_cast<std::uintptr_t>(data + count) / page * page;
  // Only a wish: the result does not matter.
  if (begin < end) (void)madvise(reinterpret_cast<void*>(begin), end - begin, MADV_HUGEPAGE);
#endif
}

// The orientation (EXIF 2.32) of a file whose upright photo is to be flipped left for right.
int flipped(int orientation) {
  constexpr std::array<int, 8> other = {2, 1, 4, 3, 6, 5, 8, 7};
  return other.at(static_cast<std::size_t>(orientation - 1));
}

}  // namespace

PhotoWriter::PhotoWriter(const RasterFacts& facts, const PhotoOptions& options,
                         const std::string& source, Photo& photo)
    : photo_(photo),
      lineariser_(choose_lineariser(facts, options, source)),
      file_width_(facts.width) {
  const int orientation = options.mirrored ? flipped(facts.orientation) : facts.orientation;
  const bool transposed = orientation >= 5;
  photo.width = transposed ? facts.height : facts.width;
  photo.height = transposed ? facts.width : facts.height;
  photo.bits = facts.bits;
  photo.encoding = lineariser_.encoding;
  photo.profile_description = lineariser_.description;
  photo.settings = facts.settings;
  photo.warnings = facts.warnings;
  photo.warnings.insert(photo.warnings.end(), lineariser_.warnings.begin(),
                        lineariser_.warnings.end());
  if (!lineariser_.profile) {
    // Lossy coding scatters clipped codes a little below the top; converters of raw files leave a
    // clipped channel within a fraction of a percent of it.
    const std::size_t top = lineariser_.curves[0].size() - 1;
    const std::size_t clipped_from = facts.bits == 16 ? top - 65 : (facts.lossy ? top - 1 : top);
    for (std::size_t c = 0; c < 3; ++c) {
      photo.clip_level[c] = lineariser_.curves[c][clipped_from];
    }
  }
  constexpr std::size_t light = 3 * sizeof(std::uint16_t);
  check_photo_memory(photo.width, photo.height, keeps_codes() ? 3 : light, 0, source);
  set_placement(orientation);
  grows_ = !transposed && placement_.step_y > 0;
  if (keeps_codes()) {
    for (std::size_t c = 0; c < 3; ++c) {
      std::copy_n(lineariser_.curves[c].begin(), 256, photo.light_of_code[c].begin());
    }
    make_room(photo.codes);
  } else {
    make_room(photo.rgb);
  }
}

bool PhotoWriter::keeps_codes() const {
  return photo_.bits == 8 && !lineariser_.profile;
}

template <class T>
void PhotoWriter::make_room(std::vector<T>& values) {
  const std::size_t count = 3 * photo_.width * photo_.height;
  values.reserve(count);
  prefer_huge_pages(values.data(), count);
  if (!grows_) values.resize(count);
}

void PhotoWriter::set_placement(int orientation) {
  const bool transposed = orientation >= 5;
  const auto w = static_cast<std::ptrdiff_t>(photo_.width);
  const auto h = static_cast<std::ptrdiff_t>(photo_.height);
  const bool from_right =
      orientation == 2 || orientation == 3 || orientation == 6 || orientation == 7;
  const bool from_bottom =
      orientation == 3 || orientation == 4 || orientation == 7 || orientation == 8;
  const std::ptrdiff_t along_x = from_right ? -1 : 1;
  const std::ptrdiff_t along_y = from_bottom ? -w : w;
  placement_.first = (from_right ? w - 1 : 0) + (from_bottom ? (h - 1) * w : 0);
  placement_.step_x = transposed ? along_y : along_x;
  placement_.step_y = transposed ? along_x : along_y;
}

void PhotoWriter::place_codes(const std::uint8_t* codes, std::size_t y) {
  const std::ptrdiff_t step = 3 * placement_.step_x;
  std::uint8_t* to = photo_.codes.data() + 3 * start_of(y);
  if (step == 3) {
    std::copy_n(codes, 3 * file_width_, to);
    return;
  }
  for (std::size_t x = 0; x < file_width_; ++x, to += step, codes += 3) std::copy_n(codes, 3, to);
}

template <class Code>
void PhotoWriter::place_light(const Code* codes, std::size_t y,
                              std::vector<std::uint16_t>& scratch) {
  std::uint16_t* to = photo_.rgb.data() + 3 * start_of(y);
  const std::ptrdiff_t step = 3 * placement_.step_x;
  if (!lineariser_.profile) {
    const std::array<const std::uint16_t*, 3> curves = {
        lineariser_.curves[0].data(), lineariser_.curves[1].data(), lineariser_.curves[2].data()};
    for (std::size_t x = 0; x < file_width_; ++x, to += step, codes += 3) {
      for (std::size_t c = 0; c < 3; ++c) to[c] = curves[c][codes[c]];
    }
    return;
  }
  constexpr unsigned to_full = sizeof(Code) == 1 ? 257 : 1;
  constexpr Code top = static_cast<Code>(~Code{0});
  scratch.resize(6 * file_width_);
  for (std::size_t i = 0; i < 3 * file_width_; ++i) {
    scratch[i] = static_cast<std::uint16_t>(codes[i] * to_full);
  }
  std::uint16_t* light = scratch.data() + 3 * file_width_;
  lineariser_.profile->to_wide_linear(scratch.data(), light, file_width_);
  for (std::size_t x = 0; x < file_width_; ++x, to += step) {
    const Code* from = codes + 3 * x;
    // A clipped code spoils all three channels of the wide space: keep it recognisable.
    const bool clipped = std::max({from[0], from[1], from[2]}) == top;
    for (std::size_t c = 0; c < 3; ++c) {
      to[c] = clipped ? std::uint16_t{65535} : std::min(light[3 * x + c], std::uint16_t{65534});
    }
  }
}

std::ptrdiff_t PhotoWriter::start_of(std::size_t y) const {
  return placement_.first + static_cast<std::ptrdiff_t>(y) * placement_.step_y;
}

template <class Code>
void PhotoWriter::look_for_colour(const Code* codes, std::size_t rows) {
  // Every 97th pixel: enough to tell, cheap on any size.
  for (std::size_t i = 0; grey_ && i < file_width_ * rows; i += 97) {
    const auto [low, high] = std::minmax({codes[3 * i], codes[3 * i + 1], codes[3 * i + 2]});
    if (high - low > 2) grey_ = false;
  }
}

template <class Code>
void PhotoWriter::put_light(const Code* codes, std::size_t rows) {
  // New pixels are cleared first; band by band, what is cleared is still in the cache.
  if (grows_) photo_.rgb.resize(photo_.rgb.size() + 3 * photo_.width * rows);
  // A profile's tables are slow: a band is worth every core.
  const std::size_t chunk = lineariser_.profile ? 8 : 64;
  parallel_for(rows, chunk, [&](std::size_t begin, std::size_t end) {
    std::vector<std::uint16_t> scratch;
    for (std::size_t y = begin; y < end; ++y) {
      place_light(codes + 3 * file_width_ * y, next_row_ + y, scratch);
    }
  });
  look_for_colour(codes, rows);
  next_row_ += rows;
}

void PhotoWriter::put(const std::uint8_t* codes, std::size_t rows) {
  if (!keeps_codes()) {
    put_light(codes, rows);
    return;
  }
  if (grows_) photo_.codes.resize(photo_.codes.size() + 3 * photo_.width * rows);
  for (std::size_t y = 0; y < rows; ++y) place_codes(codes + 3 * file_width_ * y, next_row_ + y);
  look_for_colour(codes, rows);
  next_row_ += rows;
}

void PhotoWriter::put(const std::uint16_t* codes, std::size_t rows) {
  put_light(codes, rows);
}

std::uint8_t* PhotoWriter::next_rows(std::size_t rows) {
  if (!keeps_codes() || !grows_ || placement_.step_x != 1) return nullptr;
  const std::size_t before = photo_.codes.size();
  photo_.codes.resize(before + 3 * photo_.width * rows);
  return photo_.codes.data() + before;
}

void PhotoWriter::filled(std::size_t rows) {
  look_for_colour(photo_.codes.data() + 3 * photo_.width * next_row_, rows);
  next_row_ += rows;
}

}  // namespace mamelon::detail

#include <array>
#include <csetjmp>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <memory>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "capture/exif.h"
#include "capture/raster.h"
// jpeglib.h needs size_t and FILE declared first.
#include <jerror.h>
#include <jpeglib.h>

namespace mamelon::detail {

// libjpeg reports a fatal error by a function that must not return; leaving it by longjmp is the
// library's documented way. No object with a destructor lives between setjmp and longjmp.
struct ErrorState {
  jpeg_error_mgr base;
  std::jmp_buf leave;
  std::array<char, JMSG_LENGTH_MAX> text;
  bool damaged;  // a warning that means missing or wrong pixels
};

struct JpegDecoder {
  jpeg_decompress_struct info;
  ErrorState errors;
  jpeg_progress_mgr progress;
  JOCTET* icc;
  unsigned icc_size;
};

namespace {

[[noreturn]] void on_error(j_common_ptr info) {
  auto* state = reinterpret_cast<ErrorState*>(info->err);
  info->err->format_message(info, state->text.data());
  std::longjmp(state->leave, 1);  // NOLINT(cert-err52-cpp): see ErrorState
}

void on_message(j_common_ptr info, int level) {
  if (level >= 0) return;
  auto* state = reinterpret_cast<ErrorState*>(info->err);
  if (info->err->msg_code == JWRN_EXTRANEOUS_DATA) return;
  if (!state->damaged) info->err->format_message(info, state->text.data());
  state->damaged = true;
}

void no_output(j_common_ptr) {}

// Bytes of the markers that libjpeg is asked to keep (ISO/IEC 10918-1, B.1.1), up to the first
// scan.
std::size_t kept_bytes(std::span<const std::byte> bytes) {
  const auto byte = [&](std::size_t at) { return std::to_integer<std::size_t>(bytes[at]); };
  std::size_t kept = 0;
  for (std::size_t at = 2; at + 4 <= bytes.size() && byte(at) == 0xFF;) {
    const std::size_t kind = byte(at + 1);
    if (kind == 0xFF) {
      ++at;
      continue;
    }
    if (kind == 0xDA) break;
    const std::size_t length = byte(at + 2) << 8U | byte(at + 3);
    if (kind == JPEG_APP0 + 1 || kind == JPEG_APP0 + 2) kept += length;
    at += 2 + length;
  }
  return kept;
}

bool open(JpegDecoder& d, std::span<const std::byte> bytes) {
  if (setjmp(d.errors.leave) != 0) return false;  // NOLINT(cert-err52-cpp): see ErrorState
  jpeg_create_decompress(&d.info);
  jpeg_mem_src(&d.info, reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size());
  jpeg_save_markers(&d.info, JPEG_APP0 + 1, 0xFFFF);
  jpeg_save_markers(&d.info, JPEG_APP0 + 2, 0xFFFF);
  jpeg_read_header(&d.info, TRUE);
  if (jpeg_read_icc_profile(&d.info, &d.icc, &d.icc_size) == FALSE) d.icc_size = 0;
  return true;
}

// A scan may say next to nothing and still costs a walk over the whole picture.
void look_at_scan(j_common_ptr info) {
  auto* decoder = reinterpret_cast<j_decompress_ptr>(info);
  if (decoder->input_scan_number <= limits::jpeg_scans) return;
  auto* state = reinterpret_cast<ErrorState*>(info->err);
  std::snprintf(state->text.data(), state->text.size(), "it has more than %d scans",
                limits::jpeg_scans);
  std::longjmp(state->leave, 1);  // NOLINT(cert-err52-cpp): see ErrorState
}

// What libjpeg keeps of a picture in several scans: every coefficient, 2 bytes each.
std::size_t coefficient_bytes(jpeg_decompress_struct& info) {
  if (jpeg_has_multiple_scans(&info) == FALSE) return 0;
  std::size_t blocks = 0;
  for (int c = 0; c < info.num_components; ++c) {
    blocks += std::size_t{info.comp_info[c].width_in_blocks} * info.comp_info[c].height_in_blocks;
  }
  return blocks * DCTSIZE2 * sizeof(JCOEF);
}

bool start(JpegDecoder& d) {
  if (setjmp(d.errors.leave) != 0) return false;  // NOLINT(cert-err52-cpp): see ErrorState
  d.progress.progress_monitor = look_at_scan;
  d.info.progress = &d.progress;
  d.info.out_color_space = JCS_RGB;
  // The accurate inverse transform; the fast one shifts flat patches by up to a code value.
  d.info.dct_method = JDCT_ISLOW;
  return jpeg_start_decompress(&d.info) == TRUE;
}

bool read(JpegDecoder& d, std::uint8_t* out, std::size_t rows) {
  if (setjmp(d.errors.leave) != 0) return false;  // NOLINT(cert-err52-cpp): see ErrorState
  const std::size_t stride = std::size_t{d.info.output_width} * 3;
  for (std::size_t y = 0; y < rows; ++y) {
    JSAMPROW row = out + y * stride;
    jpeg_read_scanlines(&d.info, &row, 1);
  }
  if (d.info.output_scanline == d.info.output_height) jpeg_finish_decompress(&d.info);
  return true;
}

void take_exif(const JpegDecoder& d, RasterFacts& facts) {
  static constexpr char header[] = "Exif\0";
  for (const jpeg_marker_struct* m = d.info.marker_list; m != nullptr; m = m->next) {
    if (m->marker != JPEG_APP0 + 1 || m->data_length < 6) continue;
    if (std::memcmp(m->data, header, 6) != 0) continue;
    const auto exif =
        read_exif({reinterpret_cast<const std::byte*>(m->data) + 6, m->data_length - 6});
    if (exif) {
      facts.orientation = exif->orientation;
      facts.declared_srgb = exif->declared_srgb;
      facts.settings = exif->settings;
    } else {
      facts.warnings.emplace_back("the EXIF block is malformed and was ignored");
    }
    return;
  }
}

}  // namespace

void JpegReader::Close::operator()(JpegDecoder* decoder) const {
  jpeg_destroy_decompress(&decoder->info);
  std::free(decoder->icc);  // NOLINT(cppcoreguidelines-no-malloc): allocated by libjpeg
  delete decoder;
}

JpegReader::JpegReader(std::span<const std::byte> bytes, const std::string& source)
    : decoder_(new JpegDecoder{}), source_(source) {
  JpegDecoder& d = *decoder_;
  d.info.err = jpeg_std_error(&d.errors.base);
  d.errors.base.error_exit = on_error;
  d.errors.base.emit_message = on_message;
  d.errors.base.output_message = no_output;
  if (kept_bytes(bytes) > 2 * limits::profile_bytes) {
    throw DataError(source + ": carries more than " +
                    std::to_string(2 * limits::profile_bytes >> 20U) +
                    " MiB of EXIF data and profile; export the photo without them");
  }
  if (!open(d, bytes)) {
    throw DataError(source + ": not a usable JPEG file: " + d.errors.text.data());
  }
  const J_COLOR_SPACE space = d.info.jpeg_color_space;
  if (space == JCS_GRAYSCALE) {
    throw CaptureError(source + ": a greyscale JPEG holds no colour; a colour photo is needed");
  }
  if (space == JCS_CMYK || space == JCS_YCCK) {
    throw CaptureError(source + ": a CMYK JPEG is made for printing; an RGB photo is needed");
  }
  check_photo_size(d.info.image_width, d.info.image_height, source);
  check_photo_memory(d.info.image_width, d.info.image_height, 3,
                     bytes.size() + coefficient_bytes(d.info), source);
  facts_.width = d.info.image_width;
  facts_.height = d.info.image_height;
  facts_.lossy = true;
  facts_.icc.assign(d.icc, d.icc + d.icc_size);
  take_exif(d, facts_);
}

void JpegReader::read_rows(std::uint8_t* out, std::size_t rows) {
  const bool fine = (next_row_ > 0 || start(*decoder_)) && read(*decoder_, out, rows);
  if (!fine || decoder_->errors.damaged) {
    throw DataError(source_ +
                    ": the JPEG file is truncated or damaged: " + decoder_->errors.text.data());
  }
  next_row_ += rows;
}

Raster decode_jpeg(std::span<const std::byte> bytes, const std::string& source) {
  JpegReader reader(bytes, source);
  Raster raster;
  static_cast<RasterFacts&>(raster) = reader.facts();
  raster.codes8.resize(3 * raster.width * raster.height);
  reader.read_rows(raster.codes8.data(), raster.height);
  return raster;
}

}  // namespace mamelon::detail

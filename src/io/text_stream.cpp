#include "io/text_stream.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <utility>

#include "mamelon/error.h"
#include "mamelon/limits.h"

namespace mamelon::detail {
namespace {

void append_code_point(std::uint32_t c, std::string& out) {
  const auto put = [&out](std::uint32_t byte) { out += static_cast<char>(byte); };
  if (c < 0x80) {
    put(c);
  } else if (c < 0x800) {
    put(0xC0U | (c >> 6U));
    put(0x80U | (c & 0x3FU));
  } else if (c < 0x10000) {
    put(0xE0U | (c >> 12U));
    put(0x80U | ((c >> 6U) & 0x3FU));
    put(0x80U | (c & 0x3FU));
  } else {
    put(0xF0U | (c >> 18U));
    put(0x80U | ((c >> 12U) & 0x3FU));
    put(0x80U | ((c >> 6U) & 0x3FU));
    put(0x80U | (c & 0x3FU));
  }
}

bool is_utf8(std::string_view text) {
  std::size_t i = 0;
  while (i < text.size()) {
    const auto lead = static_cast<unsigned char>(text[i]);
    std::size_t more = 0;
    if (lead < 0x80) {
      more = 0;
    } else if (lead >= 0xC2 && lead < 0xE0) {
      more = 1;
    } else if (lead >= 0xE0 && lead < 0xF0) {
      more = 2;
    } else if (lead >= 0xF0 && lead < 0xF5) {
      more = 3;
    } else {
      return false;
    }
    if (i + more >= text.size() && more > 0) return false;
    for (std::size_t k = 1; k <= more; ++k) {
      if ((static_cast<unsigned char>(text[i + k]) & 0xC0U) != 0x80U) return false;
    }
    i += more + 1;
  }
  return true;
}

}  // namespace

TextStream::TextStream(std::istream& in, std::string source)
    : in_(in), source_(std::move(source)) {}

std::string_view TextStream::encoding() const {
  switch (encoding_) {
    case Encoding::utf16_little:
      return "UTF-16, little-endian";
    case Encoding::utf16_big:
      return "UTF-16, big-endian";
    case Encoding::utf8:
      break;
  }
  return "UTF-8";
}

void TextStream::detect(const std::string& head) {
  // Without a mark at its start, the text's first letters tell: their upper bytes are zero.
  const bool tells = head.size() >= 4;
  const bool little = tells && head[1] == '\0' && head[3] == '\0' && head[0] != '\0';
  const bool big = tells && head[0] == '\0' && head[2] == '\0' && head[1] != '\0';
  if (little || head.starts_with("\xFF\xFE")) encoding_ = Encoding::utf16_little;
  if (big || head.starts_with("\xFE\xFF")) encoding_ = Encoding::utf16_big;
}

void TextStream::decode_utf16(std::string_view bytes, std::string& out) {
  const std::string all = left_over_ + std::string(bytes);
  const std::size_t high = encoding_ == Encoding::utf16_little ? 1 : 0;
  std::size_t i = 0;
  for (; i + 1 < all.size(); i += 2) {
    const std::uint32_t c =
        (static_cast<std::uint32_t>(static_cast<unsigned char>(all[i + high])) << 8U) |
        static_cast<unsigned char>(all[i + 1 - high]);
    if (c >= 0xD800 && c < 0xDC00) {
      high_surrogate_ = c;
    } else if (c >= 0xDC00 && c < 0xE000) {
      if (high_surrogate_ == 0) throw DataError(source_ + ": is not valid UTF-16 text");
      append_code_point(0x10000U + ((high_surrogate_ - 0xD800U) << 10U) + (c - 0xDC00U), out);
      high_surrogate_ = 0;
    } else if (c != 0xFEFF) {
      append_code_point(c, out);
    }
  }
  left_over_ = all.substr(i);
}

bool TextStream::read(std::string& out) {
  std::array<char, std::size_t{1} << 16U> block{};
  in_.read(block.data(), static_cast<std::streamsize>(block.size()));
  if (in_.bad()) throw IoError(source_ + ": cannot be read to its end");
  std::string bytes(block.data(), static_cast<std::size_t>(in_.gcount()));
  if (bytes.empty()) {
    if (!left_over_.empty()) throw DataError(source_ + ": ends inside a UTF-16 character");
    return false;
  }
  if (!started_) {
    started_ = true;
    detect(bytes);
    if (bytes.starts_with("\xEF\xBB\xBF")) bytes.erase(0, 3);
  }
  if (encoding_ == Encoding::utf8) {
    out += bytes;
  } else {
    const std::size_t before = out.size();
    decode_utf16(bytes, out);
    bytes = out.substr(before);
  }
  if (std::find(bytes.begin(), bytes.end(), '\0') != bytes.end()) {
    throw DataError(source_ + ": is not a text file; give a table as text (CSV)");
  }
  return true;
}

std::string to_utf8(std::string text) {
  if (is_utf8(text)) return text;
  std::string out;
  for (const char c : text) append_code_point(static_cast<unsigned char>(c), out);
  return out;
}

LineReader::LineReader(std::istream& in, std::string source)
    : source_(std::move(source)), text_(in, source_) {
  fill();
}

void LineReader::fill() {
  buffer_.erase(0, at_);
  at_ = 0;
  if (!ended_ && !text_.read(buffer_)) ended_ = true;
}

void LineReader::end() {
  at_ = buffer_.size();
  ended_ = true;
}

bool LineReader::next(std::string& line) {
  std::size_t searched = at_;
  for (;;) {
    const std::size_t end = buffer_.find_first_of("\r\n", searched);
    visited_ += std::min(end, buffer_.size()) - searched;
    // A carriage return at the very end of the buffer may have its line feed in the next piece.
    const bool whole = end != std::string::npos && (end + 1 < buffer_.size() || ended_);
    if (whole) {
      line.assign(buffer_, at_, end - at_);
      at_ = end + 1;
      if (buffer_[end] == '\r' && at_ < buffer_.size() && buffer_[at_] == '\n') ++at_;
      ++number_;
      return true;
    }
    if (buffer_.size() - at_ > limits::table_row_bytes) {
      const std::size_t number = number_ + 1;
      this->end();
      throw DataError(source_ + ": line " + std::to_string(number) +
                      ": is longer than the 1 MiB that a row of a table can be");
    }
    if (!ended_) {
      const std::size_t known = buffer_.size() - at_;
      fill();
      searched = known > 0 ? known - 1 : 0;
      continue;
    }
    if (at_ >= buffer_.size()) return false;
    line.assign(buffer_, at_);
    at_ = buffer_.size();
    ++number_;
    return true;
  }
}

}  // namespace mamelon::detail

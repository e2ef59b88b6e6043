#pragma once
// Text as spreadsheets save it, decoded to UTF-8 in pieces, so that a long file needs little
// memory.

#include <cstdint>
#include <istream>
#include <string>
#include <string_view>

namespace mamelon::detail {

class TextStream {
 public:
  // Reads UTF-8 and UTF-16 of either byte order; the order is told from a byte order mark or, where
  // there is none, from the zero bytes of the first characters.
  TextStream(std::istream& in, std::string source);
  // Appends the next piece; false at the end. Throws DataError for bytes that are no text.
  bool read(std::string& out);
  [[nodiscard]] std::string_view encoding() const;

 private:
  enum class Encoding { utf8, utf16_little, utf16_big };
  void detect(const std::string& head);
  void decode_utf16(std::string_view bytes, std::string& out);

  std::istream& in_;
  std::string source_;
  Encoding encoding_ = Encoding::utf8;
  bool started_ = false;
  std::string left_over_;  // bytes of a UTF-16 character that is not complete yet
  std::uint32_t high_surrogate_ = 0;
};

// `text` when it is UTF-8; otherwise its bytes read as Latin-1.
std::string to_utf8(std::string text);

// The whole of `bytes` as UTF-8.
std::string decode_text(std::string_view bytes, const std::string& source);

}  // namespace mamelon::detail

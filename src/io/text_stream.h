#pragma once
// Text as spreadsheets save it, decoded to UTF-8 in pieces, so that a long file needs little
// memory.

#include <cstddef>
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

// The lines of a text, one at a time; each character is looked for an end of line once.
class LineReader {
 public:
  LineReader(std::istream& in, std::string source);

  // Puts the next line, without its end, into `line`; false at the end. Throws DataError for one
  // that is longer than a row of a table can be.
  bool next(std::string& line);
  // Of the line that `next` gave last, counted from 1.
  [[nodiscard]] std::size_t number() const { return number_; }

  // The text that stands next, as far as it has been read.
  [[nodiscard]] std::string_view ahead() const { return std::string_view(buffer_).substr(at_); }
  // Drops what is left.
  void end();

  [[nodiscard]] std::string_view encoding() const { return text_.encoding(); }
  [[nodiscard]] const std::string& source() const { return source_; }
  [[nodiscard]] std::size_t characters_visited() const { return visited_; }

 private:
  void fill();

  std::string source_;
  TextStream text_;
  std::string buffer_;
  std::size_t at_ = 0;
  std::size_t number_ = 0;
  std::size_t visited_ = 0;
  bool ended_ = false;
};

// `text` when it is UTF-8; otherwise its bytes read as Latin-1.
std::string to_utf8(std::string text);

}  // namespace mamelon::detail

#include "io/byte_source.h"

#include <algorithm>
#include <utility>
#include <vector>

#include "base/input_file.h"
#include "base/sha256.h"

namespace mamelon::detail {
namespace {

constexpr std::size_t block = std::size_t{1} << 16U;

class FileBuffer : public std::streambuf {
 public:
  FileBuffer(const std::filesystem::path& file, std::size_t max_bytes)
      : file_(file, max_bytes), room_(block) {}

 protected:
  int_type underflow() override {
    const std::size_t got = file_.read(room_.data(), room_.size());
    setg(room_.data(), room_.data(), room_.data() + got);
    return got == 0 ? traits_type::eof() : traits_type::to_int_type(room_.front());
  }
  pos_type seekpos(pos_type to, std::ios_base::openmode) override {
    if (to != pos_type(0)) return pos_type(off_type(-1));
    file_.rewind();
    setg(nullptr, nullptr, nullptr);
    return to;
  }

 private:
  InputFile file_;
  std::vector<char> room_;
};

class MemoryBuffer : public std::streambuf {
 public:
  explicit MemoryBuffer(std::string_view bytes) {
    // A stream buffer's interface is not const; reading writes nothing.
    auto* first = const_cast<char*>(bytes.data());  // NOLINT(cppcoreguidelines-pro-type-const-cast)
    setg(first, first, first + bytes.size());
  }

 protected:
  pos_type seekpos(pos_type to, std::ios_base::openmode) override {
    if (to != pos_type(0)) return pos_type(off_type(-1));
    setg(eback(), eback(), egptr());
    return to;
  }
};

}  // namespace

ByteSource::ByteSource(std::unique_ptr<std::streambuf> buffer, std::string name)
    : name_(std::move(name)),
      buffer_(std::move(buffer)),
      in_(std::make_unique<std::istream>(buffer_.get())) {
  in_->exceptions(std::ios::badbit);
  scan();
}

ByteSource ByteSource::of_file(const std::filesystem::path& file, std::size_t max_bytes) {
  return {std::make_unique<FileBuffer>(file, max_bytes), file.string()};
}

ByteSource ByteSource::of_bytes(std::string_view bytes, std::string name) {
  return {std::make_unique<MemoryBuffer>(bytes), std::move(name)};
}

std::istream& ByteSource::stream() {
  in_->clear();
  in_->seekg(0);
  return *in_;
}

void ByteSource::scan() {
  constexpr std::size_t head_bytes = std::size_t{1} << 20U;
  Sha256 sum;
  std::vector<char> room(block);
  while (in_->read(room.data(), static_cast<std::streamsize>(room.size())) || in_->gcount() > 0) {
    const std::string_view piece(room.data(), static_cast<std::size_t>(in_->gcount()));
    sum.take(std::as_bytes(std::span(piece)));
    size_ += piece.size();
    lines_ += static_cast<std::size_t>(
        std::count_if(piece.begin(), piece.end(), [](char c) { return c == '\n' || c == '\r'; }));
    if (head_.size() < head_bytes) head_ += piece.substr(0, head_bytes - head_.size());
  }
  digest_ = sum.hex();
}

}  // namespace mamelon::detail

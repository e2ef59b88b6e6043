#include "base/input_file.h"

#include <algorithm>
#include <cerrno>
#include <system_error>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "mamelon/error.h"

namespace mamelon::detail {
namespace {

// A file larger than this of which less than an eighth is stored is refused: a download that broke
// off, or made to cost time. File systems that compress seldom reach that with pictures or tables.
constexpr std::size_t holes_matter_from = std::size_t{64} << 20U;

std::string reason(int error) {
  return std::generic_category().message(error);
}

}  // namespace

InputFile::InputFile(const std::filesystem::path& file, std::size_t max_bytes)
    : name_(file.string()), max_bytes_(max_bytes) {
  if (name_.find('\0') != std::string::npos) fail("the name has a zero byte in it");
  // Opening a pipe that nobody writes to would wait for ever.
  fd_ = ::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (fd_ < 0) {
    fail("cannot be opened: " + reason(errno) + "; give the path of a file that can be read");
  }
  struct stat facts {};
  try {
    if (::fstat(fd_, &facts) != 0) fail("cannot be read: " + reason(errno));
    if (S_ISDIR(facts.st_mode)) fail("is a folder; give a file");
    if (!S_ISREG(facts.st_mode)) {
      fail("is a pipe or a device, not a regular file; save it as a file first");
    }
    size_ = static_cast<std::size_t>(facts.st_size);
    if (size_ > max_bytes_) fail_too_large();
    const std::size_t stored = 512 * static_cast<std::size_t>(facts.st_blocks);
    if (size_ > holes_matter_from && stored < size_ / 8) {
      fail("was never written but for a small part of it; copy or load it again");
    }
  } catch (...) {
    ::close(fd_);
    throw;
  }
}

InputFile::~InputFile() {
  if (fd_ >= 0) ::close(fd_);
}

void InputFile::fail(const std::string& why) const {
  throw IoError(name_ + ": " + why);
}

void InputFile::fail_too_large() const {
  fail("is larger than the " + std::to_string(max_bytes_ >> 20U) +
       " MiB that are read of such a file");
}

std::size_t InputFile::read(char* to, std::size_t count) {
  for (;;) {
    const ssize_t got = ::read(fd_, to, count);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) fail("cannot be read: " + reason(errno));
    taken_ += static_cast<std::size_t>(got);
    if (taken_ > max_bytes_) fail_too_large();
    return static_cast<std::size_t>(got);
  }
}

void InputFile::rewind() {
  if (::lseek(fd_, 0, SEEK_SET) != 0) fail("cannot be read twice: " + reason(errno));
  taken_ = 0;
}

std::string InputFile::rest() {
  std::string content;
  // One byte more than there should be, so that the end is seen without a second allocation.
  std::size_t room = size_ > taken_ ? size_ - taken_ + 1 : 1;
  for (;;) {
    const std::size_t before = content.size();
    content.resize(before + room);
    const std::size_t got = read(content.data() + before, room);
    content.resize(before + got);
    if (got == 0) return content;
    room = std::max<std::size_t>(room - std::min(room, got), std::size_t{1} << 12U);
  }
}

}  // namespace mamelon::detail

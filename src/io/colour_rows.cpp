// The rows of a table of colours, one at a time.

#include <filesystem>
#include <fstream>
#include <string>
#include <system_error>

#include "mamelon/exchange.h"
#include "mamelon/limits.h"

#include "base/input_file.h"
#include "io/table.h"

namespace mamelon {
namespace {

std::ifstream opened(const std::string& file) {
  std::error_code unused;
  // A list that another program writes while it is read comes through a pipe; of anything else this
  // says why it cannot be read.
  if (!std::filesystem::is_fifo(std::filesystem::status(file, unused))) {
    const detail::InputFile can_be_read(file, limits::table_bytes);
  }
  return std::ifstream(file, std::ios::binary);
}

double size_of(const std::string& file) {
  std::error_code failed;
  const auto size = std::filesystem::file_size(file, failed);
  return failed ? 0 : static_cast<double>(size);
}

}  // namespace

struct ColourRows::Content {
  Content(const std::string& file, const std::optional<Viewing>& viewing,
          const TableOptions& options)
      : in(opened(file)), size(size_of(file)), reader(in, file, viewing, options) {}
  std::ifstream in;
  double size;
  detail::TableReader reader;
  detail::TableRow row;
};

ColourRows::ColourRows(const std::string& file, const std::optional<Viewing>& viewing,
                       const TableOptions& options)
    : content_(std::make_unique<Content>(file, viewing, options)) {}
ColourRows::~ColourRows() = default;
ColourRows::ColourRows(ColourRows&&) noexcept = default;
ColourRows& ColourRows::operator=(ColourRows&&) noexcept = default;

bool ColourRows::next(ColourRow& row) {
  detail::TableRow& read = content_->row;
  if (!content_->reader.next(read)) return false;
  row = {read.label, read.zone, read.lab};
  return true;
}

double ColourRows::share() const {
  const auto at = static_cast<double>(content_->in.tellg());
  return at < 0 || content_->size <= 0 ? 1 : at / content_->size;
}

std::string ColourRows::columns_in_words() const {
  return detail::explain(content_->reader);
}

}  // namespace mamelon

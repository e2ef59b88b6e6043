#include "io/json_node.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "mamelon/error.h"
#include "mamelon/limits.h"

#include "base/numbers.h"

namespace mamelon::detail {
namespace {

using nlohmann::json;

std::size_t line_of(std::string_view text, std::size_t byte) {
  const auto end = text.begin() + static_cast<std::ptrdiff_t>(std::min(byte, text.size()));
  return 1 + static_cast<std::size_t>(std::count(text.begin(), end, '\n'));
}

std::string kind_of(const json& value) {
  if (value.is_object()) return "an object";
  if (value.is_array()) return "a list";
  if (value.is_string()) return "a text";
  if (value.is_boolean()) return "true or false";
  if (value.is_null()) return "null";
  return "a number";
}

// The document as the library's parser tells it, part by part. The library's own parser with a
// callback looks at all earlier elements of a list after each of its objects.
class DocumentBuilder : public nlohmann::json_sax<json> {
 public:
  explicit DocumentBuilder(std::string_view text, const std::string& source)
      : text_(text), source_(source) {}

  [[nodiscard]] json& document() { return root_; }

  bool null() override { return put(nullptr); }
  bool boolean(bool value) override { return put(value); }
  bool number_integer(json::number_integer_t value) override { return put(value); }
  bool number_unsigned(json::number_unsigned_t value) override { return put(value); }
  bool number_float(json::number_float_t value, const std::string& /*digits*/) override {
    return put(value);
  }
  bool string(std::string& value) override { return put(std::move(value)); }
  bool binary(json::binary_t& /*value*/) override { return false; }
  bool start_object(std::size_t /*size*/) override { return open(json::object()); }
  bool end_object() override { return close(); }
  bool start_array(std::size_t /*size*/) override { return open(json::array()); }
  bool end_array() override { return close(); }
  bool key(std::string& name) override {
    count();
    const auto [member, fresh] =
        open_.back()->get_ref<json::object_t&>().try_emplace(std::move(name));
    if (!fresh) {
      throw DataError(source_ + ": gives the key \"" + member->first +
                      "\" twice in one object; give it once");
    }
    member_ = &member->second;
    return true;
  }
  bool parse_error(std::size_t position, const std::string& /*token*/,
                   const nlohmann::detail::exception& error) override {
    if (dynamic_cast<const json::out_of_range*>(&error) != nullptr) {
      throw DataError(source_ + ": has a number that no double can hold; give finite numbers");
    }
    std::string what = error.what();
    // The library's text repeats position and identifier; what follows the last of them is the
    // reason.
    if (const auto at = what.find(": "); at != std::string::npos) what = what.substr(at + 2);
    throw DataError(source_ + ": line " + std::to_string(line_of(text_, position)) +
                    ": is not JSON: " + what);
  }

 private:
  void count() {
    if (++parts_ > limits::document_values) {
      throw DataError(source_ + ": has more than " +
                      std::to_string(limits::document_values / 1'000'000) +
                      " million values, which no document of ours has");
    }
    if (open_.size() > limits::document_depth) {
      throw DataError(source_ + ": is nested more than " + std::to_string(limits::document_depth) +
                      " levels deep, which no document of ours is");
    }
  }
  json& place(json&& value) {
    count();
    if (open_.empty()) return root_ = std::move(value);
    if (open_.back()->is_object()) return *member_ = std::move(value);
    return open_.back()->emplace_back(std::move(value));
  }
  bool put(json value) {
    place(std::move(value));
    return true;
  }
  bool open(json&& empty) {
    open_.push_back(&place(std::move(empty)));
    return true;
  }
  bool close() {
    count();
    open_.pop_back();
    return true;
  }

  std::string_view text_;
  const std::string& source_;
  json root_;
  std::vector<json*> open_;  // objects and lists that have not ended, the outermost first
  json* member_ = nullptr;   // whose value comes next
  std::size_t parts_ = 0;
};

json parse_json(std::string_view text, const std::string& source) {
  DocumentBuilder builder(text, source);
  json::sax_parse(text, &builder);
  return std::move(builder.document());
}

struct Version {
  int major = 0;
  int minor = 0;
};

std::optional<Version> version_from(std::string_view text) {
  Version version;
  const char* const end = text.data() + text.size();
  const auto first = std::from_chars(text.data(), end, version.major);
  if (first.ec != std::errc{} || first.ptr == end || *first.ptr != '.') return {};
  const auto second = std::from_chars(first.ptr + 1, end, version.minor);
  if (second.ec != std::errc{} || second.ptr != end || version.major < 0 || version.minor < 0) {
    return {};
  }
  return version;
}

}  // namespace

void Node::fail(const std::string& what) const {
  throw DataError(document_->source + ": at " + path_ + ": " + what);
}

std::optional<Node> Node::find(std::string_view key) const {
  if (!value_->is_object()) fail("expected an object, got " + kind_of(*value_));
  const auto found = value_->find(key);
  if (found == value_->end()) return {};
  return Node(document_, &*found, path_ + "." + std::string(key));
}

Node Node::at(std::string_view key) const {
  auto found = find(key);
  if (!found) fail("the key \"" + std::string(key) + "\" is missing");
  return *std::move(found);
}

void Node::allow(const std::vector<std::string>& keys) const {
  if (!value_->is_object()) fail("expected an object, got " + kind_of(*value_));
  if (document_->lenient) return;
  for (const auto& [key, unused] : value_->items()) {
    if (std::find(keys.begin(), keys.end(), key) != keys.end()) continue;
    std::string known;
    for (const std::string& name : keys) known += (known.empty() ? "" : ", ") + name;
    fail("unknown key \"" + key + "\"; known are " + known);
  }
}

std::vector<Node> Node::items() const {
  if (!value_->is_array()) fail("expected a list, got " + kind_of(*value_));
  std::vector<Node> nodes;
  nodes.reserve(value_->size());
  for (std::size_t i = 0; i < value_->size(); ++i) {
    nodes.push_back(Node(document_, &(*value_)[i], path_ + "[" + std::to_string(i) + "]"));
  }
  return nodes;
}

double Node::number() const {
  if (!value_->is_number()) fail("expected a finite number, got " + kind_of(*value_));
  const double value = value_->get<double>();
  if (!std::isfinite(value)) fail("expected a finite number, got one that no double can hold");
  return value;
}

std::string Node::text() const {
  if (!value_->is_string()) fail("expected a text, got " + kind_of(*value_));
  return value_->get<std::string>();
}

bool Node::boolean() const {
  if (!value_->is_boolean()) fail("expected true or false, got " + kind_of(*value_));
  return value_->get<bool>();
}

void Node::checked(const Type& type, const void* value) const {
  try {
    check(type, value, path_);
  } catch (const ArgumentError& error) {
    throw DataError(document_->source + ": at " + error.what());
  }
}

std::string Node::shown() const {
  constexpr std::size_t longest = 40;
  return value_->dump().substr(0, longest);
}

// A table in the place of a document is common: what makes the one from the other.
void check_no_table(std::string_view text, const std::string& source, std::string_view format) {
  if (text.starts_with("\xFF\xD8") || text.starts_with("\x89PNG")) {
    throw DataError(source + ": is a picture, not a JSON document; a photo is the input itself");
  }
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos || text[first] == '{' || text[first] == '[') return;
  const std::string_view line = text.substr(0, text.find('\n'));
  if (text[first] != '#' && line.find_first_of(",;\t") == std::string_view::npos) return;
  std::string what = source + ": is a table, not a JSON document";
  if (format == "mamelon-tab-set") {
    what += "; `mamelon tabs build` makes a tab set of readings of your tabs";
  } else if (format == "mamelon-paste-set") {
    what += "; `mamelon paste fit` makes a paste of readings of its specimens";
  }
  throw DataError(what);
}

Node parse_document(std::string_view text, const std::string& source, std::string_view format,
                    int minor) {
  check_no_table(text, source, format);
  auto document = std::make_shared<Node::Document>();
  document->root = parse_json(text, source);
  document->source = source;
  Node root(document, &document->root, "$");
  const std::string found = root.at("format").text();
  if (found != format) {
    root.at("format").fail("expected the format \"" + std::string(format) + "\", got \"" + found +
                           "\"");
  }
  const Node stated = root.at("version");
  const auto version = version_from(stated.text());
  if (!version) stated.fail("expected a version as \"1.0\", got \"" + stated.text() + "\"");
  if (version->major != 1) {
    stated.fail("version " + stated.text() +
                " has another layout than the 1.x that this program reads; " +
                (version->major > 1 ? "use a newer program" : "write the file as version 1.0"));
  }
  document->lenient = version->minor > minor;
  return root;
}

}  // namespace mamelon::detail

#include "mamelon/description.h"

#include <algorithm>
#include <set>

#include "mamelon/error.h"
#include "mamelon/provenance.h"

#include "base/numbers.h"

namespace mamelon {
namespace {

using detail::format_short;

const Member* name_of(const Type& type) {
  const auto found = std::find_if(type.members.begin(), type.members.end(), [](const Member& m) {
    return std::string_view(m.name) == "name" && m.type().kind == Kind::text;
  });
  return found == type.members.end() ? nullptr : &*found;
}

// Where a value stands: `$.pastes[2].maximum_mm` in a document; elsewhere it grows from a name, and
// what has one is called by it: `paste set 'mine'.pastes['oat'].maximum_mm`. As text only once
// something is wrong.
struct Path {
  const Path* owner = nullptr;
  const std::string* root = nullptr;
  const Member* member = nullptr;
  std::size_t index = 0;
  const Type* type = nullptr;
  const void* value = nullptr;

  [[nodiscard]] bool in_document() const {
    return owner != nullptr ? owner->in_document() : root->starts_with('$');
  }
  [[nodiscard]] std::string text() const {
    if (owner == nullptr) return *root;
    if (member == nullptr) {
      const Member* const named = type == nullptr || in_document() ? nullptr : name_of(*type);
      const std::string name = named == nullptr ? "" : named->type().text(named->get(value));
      return owner->text() +
             (name.empty() ? "[" + std::to_string(index) + "]" : "['" + name + "']");
    }
    if (member->rules.spliced) return owner->text();
    const char* const key = member->rules.key != nullptr ? member->rules.key : member->name;
    return owner->text() + "." + key;
  }
};

[[noreturn]] void refuse(const std::string& where, const std::string& what) {
  throw ArgumentError(where + ": " + what);
}

void refuse_if(const Path& path, const std::optional<std::string>& what) {
  if (what) refuse(path.text(), *what);
}

void check_names(const Type& list, const void* value, const Path& path) {
  const Member* const name = name_of(list.item());
  std::set<std::string> names;
  for (std::size_t i = 0; i < list.size(value); ++i) {
    const std::string text = name->type().text(name->get(list.at(value, i)));
    if (!names.insert(text).second)
      refuse(path.text() + "[" + std::to_string(i) + "].name",
             "the name \"" + text + "\" is used twice; give each its own");
  }
}

void check_value(const Type& type, const Rules& rules, const void* value, const Path& path);

void check_members(const Type& type, const Rules& rules, const void* value, const Path& path) {
  if (type.plain && !rules.strict) return;
  std::size_t i = 0;
  for (const Member& m : type.members) {
    Rules own = m.rules;
    own.strict = own.strict || rules.strict;
    check_value(m.type(), own, m.get(value),
                {&path, nullptr, type.plain ? nullptr : &m, i++, nullptr, nullptr});
  }
  if (type.relate != nullptr) type.relate(value, path.text());
}

void check_list(const Type& type, const Rules& rules, const void* value, const Path& path) {
  const std::size_t count = type.size(value);
  if (type.fixed == 0) refuse_if(path, count_complaint(rules.fewest, rules.most_items, count));
  const Type& item = type.item();
  const bool numbers = item.kind == Kind::number || item.kind == Kind::whole;
  if (numbers && !rules.ranged) return;
  Rules own;
  if (numbers) own = rules;
  own.strict = rules.strict;
  for (std::size_t i = 0; i < count; ++i)
    check_value(item, own, type.at(value, i),
                {&path, nullptr, nullptr, i, &item, type.at(value, i)});
  if (rules.unique) check_names(type, value, path);
}

void check_value(const Type& type, const Rules& rules, const void* value, const Path& path) {
  switch (type.kind) {
    case Kind::number:
    case Kind::whole:
      if (rules.ranged)
        refuse_if(path, complaint(rules, type.kind == Kind::whole, type.number(value)));
      break;
    case Kind::text:
      if (rules.most_items != 0) refuse_if(path, text_complaint(rules, type.text(value)));
      break;
    case Kind::list:
      check_list(type, rules, value, path);
      break;
    case Kind::optional:
      if (const void* held = type.held(value)) check_value(type.item(), rules, held, path);
      break;
    case Kind::object:
      check_members(type, rules, value, path);
      break;
    case Kind::curve:
      if (rules.ranged) {
        const Curve curve = type.curve(value);
        for (std::size_t i = 0; i < curve.values.size(); ++i)
          refuse_if({&path, nullptr, nullptr, i, nullptr, nullptr},
                    complaint(rules, false, curve.values[i]));
      }
      break;
    default:
      break;
  }
}

void write(const Type& type, const void* value, std::string& out) {
  switch (type.kind) {
    case Kind::text: {
      const std::string text = type.text(value);
      out += std::to_string(text.size()) + ":" + text;
      break;
    }
    case Kind::word:
      out += type.words[static_cast<std::size_t>(type.number(value))];
      break;
    case Kind::list:
      out += '[';
      for (std::size_t i = 0; i < type.size(value); ++i) {
        write(type.item(), type.at(value, i), out);
        out += ',';
      }
      out += ']';
      break;
    case Kind::optional:
      if (const void* held = type.held(value)) {
        write(type.item(), held, out);
      } else {
        out += '-';
      }
      break;
    case Kind::object:
      out += '{';
      for (const Member& m : type.members) {
        out += m.name;
        out += '=';
        write(m.type(), m.get(value), out);
        out += ';';
      }
      out += '}';
      break;
    case Kind::curve: {
      const Curve curve = type.curve(value);
      out += detail::format_number(curve.first_nm) + '+' + detail::format_number(curve.step_nm);
      for (const double v : curve.values) out += ',' + detail::format_number(v);
      break;
    }
    default:
      out += detail::format_number(type.number(value));
      break;
  }
}

bool same_list(const Type& type, const void* a, const void* b) {
  if (type.size(a) != type.size(b)) return false;
  for (std::size_t i = 0; i < type.size(a); ++i)
    if (!same(type.item(), type.at(a, i), type.at(b, i))) return false;
  return true;
}

}  // namespace

std::optional<std::string> complaint(const Rules& rules, bool whole, double number) {
  if (!rules.ranged) return {};
  const bool inside =
      (rules.above_least ? number > rules.least : number >= rules.least) && number <= rules.most;
  if (inside) return {};
  std::string range = rules.above_least ? " above " : " from ";
  if (rules.most == no_limit) {
    range = rules.above_least ? range + format_short(rules.least, 6)
                              : " of " + format_short(rules.least, 6) + " or more";
  } else {
    range += format_short(rules.least, 6) + (rules.above_least ? " and at most " : " to ") +
             format_short(rules.most, 6);
  }
  return std::string(whole ? "expected a whole number" : "expected a number") + range + ", got " +
         format_short(number, 6);
}

std::optional<std::string> count_complaint(std::size_t fewest, std::size_t most,
                                           std::size_t count) {
  if (count >= fewest && (most == 0 || count <= most)) return {};
  std::string range = std::to_string(fewest);
  if (most == 0)
    range += " or more";
  else if (most != fewest)
    range += " to " + std::to_string(most);
  return "expected " + range + " items, got " + std::to_string(count);
}

std::optional<std::string> text_complaint(const Rules& rules, std::string_view text) {
  if (text.empty() && rules.fewest > 0) return "the text is empty";
  if (rules.most_items != 0 && text.size() > rules.most_items)
    return "the text is longer than " + std::to_string(rules.most_items) + " bytes";
  if (std::any_of(text.begin(), text.end(),
                  [](char c) { return static_cast<unsigned char>(c) < 0x20 && c != '\n'; }))
    return "the text has control characters";
  return {};
}

std::string meaning_of(const char* meaning, const Rules& rules) {
  std::string text = meaning;
  if (*rules.unit != '\0') text += std::string(", in ") + rules.unit;
  if (rules.ranged && rules.most == no_limit)
    text += (rules.above_least ? "; above " : "; at least ") + format_short(rules.least, 6);
  else if (rules.ranged)
    text += (rules.above_least ? "; above " + format_short(rules.least, 6) + " and at most "
                               : "; " + format_short(rules.least, 6) + " to ") +
            format_short(rules.most, 6);
  return text;
}

void check(const Type& type, const void* value, const std::string& where) {
  Path path;
  path.root = &where;
  check_value(type, {}, value, path);
}

bool same(const Type& type, const void* a, const void* b) {
  switch (type.kind) {
    case Kind::text:
      return type.text(a) == type.text(b);
    case Kind::list:
      return same_list(type, a, b);
    case Kind::optional: {
      const void* const x = type.held(a);
      const void* const y = type.held(b);
      return x == y || (x != nullptr && y != nullptr && same(type.item(), x, y));
    }
    case Kind::object:
      return std::all_of(type.members.begin(), type.members.end(),
                         [&](const Member& m) { return same(m.type(), m.get(a), m.get(b)); });
    case Kind::curve: {
      const Curve x = type.curve(a);
      const Curve y = type.curve(b);
      return x.first_nm == y.first_nm && x.step_nm == y.step_nm && x.values == y.values;
    }
    default: {
      const double x = type.number(a);
      const double y = type.number(b);
      return x == y || (std::isnan(x) && std::isnan(y));
    }
  }
}

std::string canonical_text(const Type& type, const void* value) {
  std::string out;
  write(type, value, out);
  return out;
}

std::string digest_of(const Type& type, const void* value) {
  return sha256_hex(type.name + canonical_text(type, value));
}

std::string listed(std::span<const std::string_view> words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? " and " : ", ";
    text += words[i];
  }
  return text;
}

std::size_t index_of_word(std::span<const std::string_view> words, std::string_view text) {
  const auto found = std::find(words.begin(), words.end(), text);
  if (found == words.end())
    throw ArgumentError("expected one of " + listed(words) + ", got '" + std::string(text) + "'");
  return static_cast<std::size_t>(found - words.begin());
}

}  // namespace mamelon

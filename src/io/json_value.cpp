#include "io/json_value.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "mamelon/case.h"
#include "mamelon/limits.h"
#include "mamelon/spectrum.h"

namespace mamelon::detail {
namespace {

std::string key_of(const Member& m) {
  return m.rules.key != nullptr ? m.rules.key : m.name;
}

// "white.lab" → "white" and "lab"; "lab" → "" and "lab".
std::pair<std::string, std::string> split(const std::string& key) {
  const auto dot = key.find('.');
  if (dot == std::string::npos) return {"", key};
  return {key.substr(0, dot), key.substr(dot + 1)};
}

// The members whose keys stand in the object of a type, each with what leads to it.
struct Slot {
  const Member* member;
  const Member* through;  // spliced: the member of the owner that holds it
  std::string group, key;

  const void* get(const void* owner) const {
    return member->get(through != nullptr ? through->get(owner) : owner);
  }
  void* edit(void* owner) const {
    return member->edit(through != nullptr ? through->edit(owner) : owner);
  }
};

std::vector<Slot> slots_of(const Type& type) {
  std::vector<Slot> slots;
  const auto add = [&](const Member& m, const Member* through) {
    if (m.rules.hidden) return;
    auto [group, key] = split(key_of(m));
    slots.push_back({&m, through, std::move(group), std::move(key)});
  };
  for (const Member& m : type.members) {
    if (!m.rules.spliced) {
      add(m, nullptr);
      continue;
    }
    for (const Member& inner : m.type().members) add(inner, &m);
  }
  return slots;
}

constexpr std::size_t note_bytes = 4000;

std::vector<std::string> keys_of(const Type& type, const std::vector<Slot>& slots,
                                 const std::string& group) {
  std::vector<std::string> keys;
  if (group.empty()) {
    if (type.format != nullptr) keys = {"format", "version", "note"};
    for (const Constant& c : type.constants) keys.emplace_back(c.key);
    if (type.shared_grid) keys.emplace_back("grid");
  }
  for (const Slot& slot : slots) {
    const std::string& key = slot.group == group ? slot.key : slot.group;
    if ((slot.group == group || group.empty()) &&
        std::find(keys.begin(), keys.end(), key) == keys.end())
      keys.push_back(key);
  }
  return keys;
}

class Reader {
 public:
  void value(const Node& node, const Type& type, void* into) {
    switch (type.kind) {
      case Kind::number:
        type.set_number(into, node.number());
        break;
      case Kind::whole:
        type.set_number(into, whole(node, type));
        break;
      case Kind::truth:
        type.set_number(into, node.boolean() ? 1 : 0);
        break;
      case Kind::text:
        node.here([&] {
          if (!own_light(node.text(), type, into)) type.set_text(into, node.text());
        });
        break;
      case Kind::word:
        node.here([&] {
          type.set_number(into, static_cast<double>(index_of_word(type.words, node.text())));
        });
        break;
      case Kind::list:
        list(node, type, into);
        break;
      case Kind::optional:
        if (!node.is_null()) value(node, type.item(), type.hold(into));
        break;
      case Kind::object:
        object(node, type, into);
        break;
      case Kind::curve:
        curve(node, type, into);
        break;
    }
  }

 private:
  static double whole(const Node& node, const Type& type) {
    const double number = node.number();
    if (number != std::floor(number) || number < type.lowest || number > type.highest)
      node.fail("expected a whole number, got " + node.shown());
    return number;
  }

  void list(const Node& node, const Type& type, void* into) {
    const std::vector<Node> items = node.items();
    if (type.fixed != 0) {
      if (const auto wrong = count_complaint(type.fixed, type.fixed, items.size()))
        node.fail(*wrong);
    } else {
      type.resize(into, items.size());
    }
    for (std::size_t i = 0; i < items.size(); ++i)
      value(items[i], type.item(), type.edit_at(into, i));
  }

  void object(const Node& node, const Type& type, void* into) {
    if (type.plain) {
      const std::vector<Node> items = node.items();
      if (const auto wrong =
              count_complaint(type.members.size(), type.members.size(), items.size()))
        node.fail(*wrong);
      for (std::size_t i = 0; i < items.size(); ++i)
        value(items[i], type.members[i].type(), type.members[i].edit(into));
      return;
    }
    const std::vector<Slot> slots = slots_of(type);
    node.allow(keys_of(type, slots, ""));
    // A grid holds within its object alone.
    const std::optional<Grid> outer = grid_;
    if (type.shared_grid) {
      const Node grid = node.at("grid");
      Grid stated;
      value(grid, type_of<Grid>(), &stated);
      grid.checked(type_of<Grid>(), &stated);
      grid_ = stated;
    }
    for (const Constant& c : type.constants) {
      const Node constant = node.at(c.key);
      if (constant.text() != c.text)
        constant.fail("expected \"" + std::string(c.text) + "\", the only one that is read");
    }
    for (const Slot& slot : slots) {
      std::optional<Node> owner = node;
      if (!slot.group.empty()) {
        owner = node.find(slot.group);
        if (owner) owner->allow(keys_of(type, slots, slot.group));
      }
      const auto found = owner ? owner->find(slot.key) : std::nullopt;
      if (found) {
        value(*found, slot.member->type(), slot.edit(into));
        if (&slot.member->type() == &type_of<std::vector<OwnLight>>()) {
          for (const auto& own : *static_cast<const std::vector<OwnLight>*>(slot.edit(into)))
            found->here([&] { lights_.emplace_back(own.name, own.power); });
        }
      } else if (slot.member->rules.required)
        (void)(owner ? *owner : node).at(owner ? slot.key : slot.group);
    }
    grid_ = outer;
  }

  // A light or viewing of the document's own lights, where the text names one.
  bool own_light(const std::string& text, const Type& type, void* into) const {
    for (const Illuminant& light : lights_) {
      if (&type == &type_of<Illuminant>() && light.name() == text) {
        *static_cast<Illuminant*>(into) = light;
        return true;
      }
      for (const Observer observer : {Observer::deg2, Observer::deg10}) {
        const Viewing viewing{light, observer};
        if (&type == &type_of<Viewing>() && to_string(viewing) == text) {
          *static_cast<Viewing*>(into) = viewing;
          return true;
        }
      }
    }
    return false;
  }

  void curve(const Node& node, const Type& type, void* into) {
    Curve curve;
    Node values = node;
    if (grid_ && node.is_list()) {
      curve.first_nm = grid_->first_nm;
      curve.step_nm = grid_->step_nm;
    } else {
      node.allow({"first_nm", "step_nm", "values"});
      curve.first_nm = node.at("first_nm").number();
      curve.step_nm = node.at("step_nm").number();
      values = node.at("values");
    }
    for (const Node& item : values.items()) curve.values.push_back(item.number());
    const Grid grid{curve.first_nm, curve.step_nm, curve.values.size()};
    if (grid_ && node.is_list()) {
      if (const auto wrong = count_complaint(grid_->count, grid_->count, grid.count))
        node.fail(*wrong);
    } else {
      node.checked(type_of<Grid>(), &grid);
    }
    node.here([&] { type.set_curve(into, std::move(curve)); });
  }

  std::optional<Grid> grid_;
  std::vector<Illuminant> lights_;
};

class Writer {
 public:
  Json value(const Type& type, const void* from) {
    switch (type.kind) {
      case Kind::number:
        return type.number(from);
      case Kind::whole:
        return static_cast<std::int64_t>(type.number(from));
      case Kind::truth:
        return type.number(from) != 0;
      case Kind::text:
        return type.text(from);
      case Kind::word:
        return type.words[static_cast<std::size_t>(type.number(from))];
      case Kind::list: {
        Json list = Json::array();
        for (std::size_t i = 0; i < type.size(from); ++i)
          list.push_back(value(type.item(), type.at(from, i)));
        return list;
      }
      case Kind::optional:
        if (const void* held = type.held(from)) return value(type.item(), held);
        return nullptr;
      case Kind::object:
        return object(type, from, Json::object());
      case Kind::curve:
        return curve(type.curve(from));
    }
    return nullptr;
  }

  Json object(const Type& type, const void* from, Json head) {
    if (type.plain) {
      Json list = Json::array();
      for (const Member& m : type.members) list.push_back(value(m.type(), m.get(from)));
      return list;
    }
    Json out = std::move(head);
    for (const Constant& c : type.constants) out[c.key] = c.text;
    const std::optional<Grid> outer = grid_;
    if (type.shared_grid) {
      grid_.reset();
      find_grid(type, from);
      out["grid"] = value(type_of<Grid>(), &grid_.emplace(grid_.value_or(Grid{})));
    }
    for (const Slot& slot : slots_of(type)) {
      const Member& m = *slot.member;
      const Type& owner = slot.through != nullptr ? slot.through->type() : type;
      const void* const at = slot.get(from);
      if (m.rules.quiet && same(m.type(), at, m.get(owner.defaults()))) continue;
      if (m.type().kind == Kind::optional && m.type().held(at) == nullptr && !m.rules.null)
        continue;
      minor_ = std::max(minor_, m.rules.since);
      Json& place = slot.group.empty() ? out : out[slot.group];
      place[slot.key] = value(m.type(), at);
    }
    grid_ = outer;
    return out;
  }

  [[nodiscard]] int minor() const { return minor_; }

 private:
  // The grid of the first curve within a value.
  void find_grid(const Type& type, const void* from) {
    if (grid_) return;
    if (type.kind == Kind::curve) {
      const Curve c = type.curve(from);
      grid_ = Grid{c.first_nm, c.step_nm, c.values.size()};
    } else if (type.kind == Kind::object) {
      for (const Member& m : type.members) find_grid(m.type(), m.get(from));
    } else if (type.kind == Kind::list) {
      for (std::size_t i = 0; i < type.size(from) && !grid_; ++i)
        find_grid(type.item(), type.at(from, i));
    }
  }

  Json curve(const Curve& curve) const {
    if (grid_) return curve.values;
    return Json{{"first_nm", curve.first_nm}, {"step_nm", curve.step_nm}, {"values", curve.values}};
  }

  std::optional<Grid> grid_;
  int minor_ = 0;
};

// The newest minor version of a document that a field within a type came with.
int newest(const Type& type) {
  int minor = 0;
  if (type.item != nullptr) minor = newest(type.item());
  for (const Member& m : type.members) minor = std::max({minor, m.rules.since, newest(m.type())});
  return minor;
}

}  // namespace

void read_value(const Node& node, const Type& type, void* value) {
  Reader().value(node, type, value);
}

Json written_value(const Type& type, const void* value) {
  return Writer().value(type, value);
}

void read_document(std::string_view text, const std::string& source, const Type& type,
                   void* value) {
  const Node root = parse_document(text, source, type.format, newest(type));
  if (const auto note = root.find("note")) {
    Rules rules;
    rules.most_items = note_bytes;
    if (const auto wrong = text_complaint(rules, note->text())) note->fail(*wrong);
  }
  read_value(root, type, value);
  root.checked(type, value);
}

std::string write_document(const Type& type, const void* value) {
  Writer writer;
  Json root = writer.object(type, value, Json{{"format", type.format}, {"version", ""}});
  root["version"] = "1." + std::to_string(writer.minor());
  return dump(root);
}

namespace {

// What a schema says of a number, a list or a text beyond its type.
void add_rules(const Rules& rules, Kind kind, Json& out) {
  if ((kind == Kind::number || kind == Kind::whole) && rules.ranged) {
    if (rules.least != -no_limit)
      out[rules.above_least ? "exclusiveMinimum" : "minimum"] = rules.least;
    if (rules.most != no_limit) out["maximum"] = rules.most;
  }
  if (kind == Kind::text) {
    if (rules.fewest > 0) out["minLength"] = 1;
    if (rules.most_items > 0) out["maxLength"] = rules.most_items;
  }
  if (kind == Kind::list) {
    if (rules.fewest > 0) out["minItems"] = rules.fewest;
    if (rules.most_items > 0) out["maxItems"] = rules.most_items;
  }
}

class SchemaWriter {
 public:
  Json value(const Type& type, const Rules& rules) {
    switch (type.kind) {
      case Kind::number:
        return scalar("number", type, rules);
      case Kind::whole:
        return scalar("integer", type, rules);
      case Kind::truth:
        return Json{{"type", "boolean"}};
      case Kind::text:
        return scalar("string", type, rules);
      case Kind::word:
        return Json{{"enum", type.words}};
      case Kind::list:
        return list(type, rules);
      case Kind::optional: {
        Json item = value(type.item(), rules);
        return rules.null ? Json{{"anyOf", {std::move(item), {{"type", "null"}}}}} : item;
      }
      case Kind::object:
        return type.plain ? plain(type, rules) : object(type, Json::object(), {});
      case Kind::curve:
        return curve(rules);
    }
    return nullptr;
  }

  Json object(const Type& type, Json properties, std::vector<std::string> required) {
    const bool outer = shared_grid_;
    if (type.shared_grid) {
      properties["grid"] = value(type_of<Grid>(), {});
      required.emplace_back("grid");
      shared_grid_ = true;
    }
    for (const Constant& c : type.constants) {
      properties[c.key] = Json{{"const", c.text}};
      required.emplace_back(c.key);
    }
    for (const Slot& slot : slots_of(type)) {
      Json* place = &properties;
      if (!slot.group.empty()) {
        Json& group = properties[slot.group];
        if (group.is_null())
          group = Json{
              {"type", "object"}, {"properties", Json::object()}, {"additionalProperties", false}};
        place = &group["properties"];
      } else if (slot.member->rules.required) {
        required.push_back(slot.key);
      }
      (*place)[slot.key] = slot.through == nullptr ? described(*slot.member, type, false)
                                                   : described(*slot.member, slot.through->type(),
                                                               slot.through->rules.strict);
    }
    shared_grid_ = outer;
    Json out{{"type", "object"}, {"properties", std::move(properties)}};
    if (!required.empty()) out["required"] = required;
    out["additionalProperties"] = false;
    return out;
  }

 private:
  static Json scalar(const char* name, const Type& type, const Rules& rules) {
    Json out{{"type", name}};
    add_rules(rules, type.kind, out);
    return out;
  }

  Json list(const Type& type, const Rules& rules) {
    const Kind kind = type.item().kind;
    Json out{{"type", "array"},
             {"items",
              value(type.item(), kind == Kind::number || kind == Kind::whole || kind == Kind::list
                                     ? number_rules(rules)
                                     : Rules{})}};
    if (type.fixed != 0)
      out["minItems"] = out["maxItems"] = type.fixed;
    else
      add_rules(rules, Kind::list, out);
    return out;
  }

  static Rules number_rules(Rules rules) {
    rules.fewest = rules.most_items = 0;
    return rules;
  }

  Json plain(const Type& type, const Rules& rules) {
    Json items = Json::array();
    for (const Member& m : type.members)
      items.push_back(value(m.type(), rules.strict ? m.rules : Rules{}));
    const std::size_t count = items.size();
    return Json{{"type", "array"},
                {"prefixItems", std::move(items)},
                {"minItems", count},
                {"maxItems", count},
                {"items", false}};
  }

  Json curve(const Rules& rules) {
    Json number{{"type", "number"}};
    add_rules(rules, Kind::number, number);
    Json values{{"type", "array"},
                {"items", std::move(number)},
                {"minItems", 3},
                {"maxItems", limits::spectrum_bands}};
    if (shared_grid_) return values;
    Json grid = value(type_of<Grid>(), {});
    Json properties{{"first_nm", grid["properties"]["first_nm"]},
                    {"step_nm", grid["properties"]["step_nm"]},
                    {"values", std::move(values)}};
    return Json{{"type", "object"},
                {"properties", std::move(properties)},
                {"required", {"first_nm", "step_nm", "values"}},
                {"additionalProperties", false}};
  }

  Json described(const Member& m, const Type& owner, bool strict) {
    Rules rules = m.rules;
    rules.strict = rules.strict || strict;
    Json out = value(m.type(), rules);
    Rules words;
    words.unit = m.rules.unit;
    out["description"] =
        meaning_of(m.meaning, words) +
        (m.rules.since > 0 ? "; since version 1." + std::to_string(m.rules.since) : "");
    const Kind kind = m.type().kind;
    if (!m.rules.required && owner.defaults != nullptr &&
        (kind == Kind::number || kind == Kind::whole || kind == Kind::truth ||
         kind == Kind::word)) {
      Json standard = Writer().value(m.type(), m.get(owner.defaults()));
      if (!standard.is_number_float() || std::isfinite(standard.get<double>()))
        out["default"] = std::move(standard);
    }
    return out;
  }

  bool shared_grid_ = false;
};

}  // namespace

Json schema_of(const Type& type) {
  if (type.format == nullptr) return SchemaWriter().value(type, {});
  const std::string format = type.format;
  Json head{{"format", {{"const", format}}},
            {"version",
             {{"type", "string"},
              {"pattern", "^1\\.[0-9]+$"},
              {"description", "major.minor; a newer minor version may have more keys"}}},
            {"note", {{"type", "string"}, {"maxLength", note_bytes}}}};
  Json out{{"$schema", "https://json-schema.org/draft/2020-12/schema"},
           {"$id", "mamelon:schemas/" + format.substr(format.find('-') + 1)},
           {"title", type.about}};
  out.update(SchemaWriter().object(type, std::move(head), {"format", "version"}));
  return out;
}

}  // namespace mamelon::detail

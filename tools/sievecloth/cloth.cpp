// sievecloth cloth: the geometry of a cloth from any two of its measures.
#include "sievecloth/cloth.hpp"

#include <charconv>
#include <cmath>
#include <memory>

#include <fmt/format.h>

#include "owners_table.hpp"
#include "report/figures.hpp"
#include "sievecloth/version.hpp"
#include "verbs.hpp"

namespace sievecloth::tool {
namespace {

struct Options {
  std::string aperture, wire, pitch, mesh, alloy, density, standard;
  std::vector<std::string> tables;
  std::string crimp = "straight";
  bool json = false;
};

struct Material {
  std::string name;
  double density = 0;
};

Error bad_value(std::string_view option, const std::string& found, std::string expected) {
  return {ErrorCode::option_value, fmt::format("{} has no such value", option), printable(found), std::move(expected), {}};
}

Result<std::optional<double>> read_positive(std::string_view option, const std::string& text) {
  if (text.empty()) return std::optional<double>();
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (error != std::errc() || end != text.data() + text.size() || !(value > 0) || !std::isfinite(value))
    return bad_value(option, text, "a number above 0");
  return std::optional(value);
}

Result<Cloth> read_cloth(const Options& options) {
  const Result<std::optional<Length>> aperture = length_option("--aperture", options.aperture);
  const Result<std::optional<Length>> wire = length_option("--wire", options.wire);
  const Result<std::optional<Length>> pitch = length_option("--pitch", options.pitch);
  const Result<std::optional<double>> mesh = read_positive("--mesh", options.mesh);
  for (const auto* length : {&aperture, &wire, &pitch}) {
    if (!length->ok()) return length->errors();
  }
  if (!mesh.ok()) return mesh.errors();
  return complete_cloth({*aperture, *wire, *pitch, *mesh});
}

Result<std::optional<Material>> read_material(const Options& options) {
  if (!options.density.empty()) {
    const Result<std::optional<double>> density = read_positive("--density", options.density);
    if (!density.ok()) return density.errors();
    return std::optional(Material{fmt::format("{} kg/dm3", options.density), **density});
  }
  for (const Alloy& alloy : alloys()) {
    if (alloy.name == options.alloy) {
      return std::optional(Material{fmt::format("{}, {} kg/dm3 (from memory)", alloy.name, alloy.density), alloy.density});
    }
  }
  return std::optional<Material>();
}

Crimp crimp_named(const std::string& name) {
  for (const Crimp crimp : k_crimps) {
    if (to_text(crimp) == name) return crimp;
  }
  return Crimp::straight;
}

std::string_view crimp_source(Crimp crimp) {
  switch (crimp) {
    case Crimp::straight: return "wires taken as straight";
    case Crimp::trade: return "3 % for crimp, as the trade's 12.7 d\u00b2/p for steel has it (from memory)";
    case Crimp::plain: return "plain weave, wires taken as sine waves that touch where they cross (computed)";
    case Crimp::twill: break;
  }
  return "2/2 twill, wires taken as sine waves that cross every second pitch (computed)";
}

FigureGroup geometry(const Cloth& cloth) {
  constexpr std::string_view k_trade = "trade literature";
  FigureGroup group{
      "cloth",
      fmt::format("Cloth with the same pitch both ways: {} aperture, {} wire", to_text(cloth.aperture), to_text(cloth.wire)),
      {},
      {}};
  group.figures = {{"aperture_um", "aperture w", to_text(cloth.aperture), "the clear opening between two neighbouring wires",
                    cloth.aperture.um()},
                   {"wire_um", "wire diameter d", to_text(cloth.wire), "how thick the wire is", cloth.wire.um()},
                   {"pitch_um", "pitch p", to_text(cloth.pitch),
                    fmt::format("from the middle of one wire to the next: p = w + d ({})", k_trade), cloth.pitch.um()},
                   {"mesh_per_inch", "mesh count", shown_number(cloth.mesh_per_inch(), 5),
                    fmt::format("openings to the inch: 25.4 mm / p ({})", k_trade), cloth.mesh_per_inch()},
                   {"open_area_percent", "open area", shown_number(cloth.open_area_percent()) + " %",
                    fmt::format("the part of the cloth that is opening: (w / p)\u00b2 ({})", k_trade), cloth.open_area_percent()},
                   {"apertures_per_cm2", "apertures", shown_number(cloth.apertures_per_cm2()) + " per cm\u00b2",
                    fmt::format("openings in a square centimetre: 1 / p\u00b2 ({})", k_trade), cloth.apertures_per_cm2()}};
  return group;
}

void add_mass(FigureGroup& group, const Cloth& cloth, const Material& material, Crimp crimp) {
  const double mass = mass_per_area(cloth, material.density, crimp);
  group.figures.push_back({"mass_kg_per_m2", "mass", shown_number(mass) + " kg/m\u00b2",
                           fmt::format("of {}: density (pi/2) d\u00b2/p (computed); {}", material.name, crimp_source(crimp)),
                           mass});
  group.figures.push_back({"crimp_factor", "crimp", shown_number(crimp_factor(cloth, crimp), 5),
                           "length of wire in a length of cloth", crimp_factor(cloth, crimp)});
}

std::string sentence(const NearestSize& size) {
  const WireRange& wire = size.row->wire;
  return fmt::format("aperture {}{} from nominal: {} the limits of the mean; the wire is {} the permitted {} to {}",
                     size.difference < Length() ? "" : "+", shown_length(size.difference.um()),
                     size.mean_fits ? "within" : "outside", size.wire_permitted ? "within" : "outside", to_text(wire.minimum.value),
                     to_text(wire.maximum.value));
}

FigureGroup nearest(const std::vector<NearestSize>& sizes) {
  FigureGroup group{"nearest_sizes", "Nearest standard sizes, taking these measures as means", {}, {}};
  for (const NearestSize& size : sizes) {
    std::string name(size.row->designation);
    if (!size.row->alternative.empty()) name += fmt::format(" ({})", size.row->alternative);
    group.figures.push_back({std::string(size.edition->name), std::string(size.edition->title), std::move(name), sentence(size),
                             size.row->nominal.um()});
  }
  return group;
}

Result<std::vector<NearestSize>> sizes_of(const Cloth& cloth, const std::string& standard, const OwnersTables& owners) {
  if (standard.empty()) return nearest_sizes(cloth, known_editions(owners));
  const Result<const Edition*> edition = find_edition(standard, owners_editions(owners));
  if (!edition.ok()) return edition.errors();
  const Edition* const one = *edition;
  return nearest_sizes(cloth, {&one, 1});
}

std::string json_of(std::span<const FigureGroup> groups) {
  JsonText json;
  json.object([&] {
    json.member("schema", "sievecloth-cloth/1");
    write_figures(json, groups);
    json.member("library", k_version);
  });
  return json.text();
}

int run(const Options& options, const Verb& verb) {
  const Result<OwnersTables> owners = read_owners_tables(options.tables);
  if (!owners.ok()) return complain(owners.errors(), options.json, &verb);
  const Result<Cloth> cloth = read_cloth(options);
  if (!cloth.ok()) return complain(cloth.errors(), options.json, &verb);
  const Result<std::optional<Material>> material = read_material(options);
  if (!material.ok()) return complain(material.errors(), options.json, &verb);
  const Result<std::vector<NearestSize>> sizes = sizes_of(*cloth, options.standard, *owners);
  if (!sizes.ok()) return complain(sizes.errors(), options.json, &verb);
  std::vector<FigureGroup> groups{geometry(*cloth), nearest(*sizes)};
  if (*material) {
    add_mass(groups.front(), *cloth, **material, crimp_named(options.crimp));
  } else {
    groups.front().notes.emplace_back("Mass needs a material: --alloy or --density.");
  }
  return answer(options.json ? json_of(groups) : to_text(groups));
}

}  // namespace

Verb cloth_verb() {
  const auto options = std::make_shared<Options>();
  std::vector<std::string_view> names;
  for (const Alloy& alloy : alloys()) names.push_back(alloy.name);
  return {"cloth",
          "Completes a cloth from any two of aperture, wire, pitch and mesh count.",
          "  sievecloth cloth --aperture 75um --wire 50um --alloy 304\n"
          "  sievecloth cloth --mesh 200 --wire 0.0021in",
          {{"--aperture", &options->aperture, "Aperture with its unit, such as 75um"},
           {"--wire", &options->wire, "Wire diameter with its unit"},
           {"--pitch", &options->pitch, "Pitch with its unit: aperture + wire"},
           {"--mesh", &options->mesh, "Mesh count: openings to the inch"},
           {"--alloy", &options->alloy, "Material, for the mass", {.one_of = names}},
           {"--density", &options->density, "Density in kg/dm3, for the mass", {.excludes = {"--alloy"}}},
           {"--crimp",
            &options->crimp,
            "How the wires run: straight, trade (3 % longer), plain or twill",
            {.one_of = {"straight", "trade", "plain", "twill"}}},
           {"--standard", &options->standard, "The nearest size of this edition alone"},
           {"--tables", &options->tables, "An owner's own table, as YAML; may be repeated"},
           {"--json", &options->json, "One JSON document"}},
          [options](const Verb& verb) { return run(*options, verb); }};
}

}  // namespace sievecloth::tool

// Words of the diagnosis module: one for each value of its enumerations, as used in tables, JSON and the tool.
#pragma once

#include <string_view>

#include "sievecloth/cloth.hpp"
#include "sievecloth/diagnosis.hpp"
#include "sievecloth/gauge.hpp"
#include "sievecloth/plan.hpp"
#include "sievecloth/weave.hpp"

namespace sievecloth {

constexpr std::string_view word_of(ClothQuantity value) noexcept {
  switch (value) {
    case ClothQuantity::aperture: return "aperture";
    case ClothQuantity::wire: return "wire";
  }
  return {};
}

constexpr std::string_view word_of(SignKind value) noexcept {
  switch (value) {
    case SignKind::alternation: return "alternation";
    case SignKind::periodic: return "periodic";
    case SignKind::slow_wave: return "slow-wave";
    case SignKind::displaced_wire: return "displaced-wire";
    case SignKind::drift: return "drift";
    case SignKind::curvature: return "curvature";
    case SignKind::direction_difference: return "direction-difference";
    case SignKind::spread_difference: return "spread-difference";
    case SignKind::two_populations: return "two-populations";
    case SignKind::outliers: return "outliers";
    case SignKind::not_normal: return "not-normal";
    case SignKind::one_value: return "one-value";
    case SignKind::coarse_step: return "coarse-step";
  }
  return {};
}

constexpr std::string_view word_of(NotTested value) noexcept {
  switch (value) {
    case NotTested::too_few: return "too-few";
    case NotTested::no_spread: return "no-spread";
    case NotTested::not_in_order: return "not-in-order";
    case NotTested::incomplete: return "incomplete";
    case NotTested::unequal_groups: return "unequal-groups";
    case NotTested::correlated: return "correlated";
    case NotTested::no_positions: return "no-positions";
    case NotTested::other_direction_missing: return "other-direction-missing";
    case NotTested::too_few_values: return "too-few-values";
    case NotTested::not_measured: return "not-measured";
  }
  return {};
}

constexpr std::string_view word_of(Dependence value) noexcept {
  switch (value) {
    case Dependence::assumed_independent: return "assumed-independent";
    case Dependence::by_gap: return "by-gap";
    case Dependence::by_field: return "by-field";
  }
  return {};
}

constexpr std::string_view word_of(Withheld value) noexcept {
  switch (value) {
    case Withheld::too_few: return "too-few";
    case Withheld::no_spread: return "no-spread";
    case Withheld::incomplete: return "incomplete";
    case Withheld::one_group: return "one-group";
    case Withheld::contiguous: return "contiguous";
    case Withheld::correlated: return "correlated";
    case Withheld::coarse_step: return "coarse-step";
    case Withheld::few_readings: return "few-readings";
    case Withheld::few_groups: return "few-groups";
  }
  return {};
}

constexpr std::string_view word_of(Crimp value) noexcept {
  switch (value) {
    case Crimp::straight: return "straight";
    case Crimp::trade: return "trade";
    case Crimp::plain: return "plain";
    case Crimp::twill: return "twill";
  }
  return {};
}

constexpr std::string_view word_of(GaugeFitness value) noexcept {
  switch (value) {
    case GaugeFitness::fit: return "fit";
    case GaugeFitness::marginal: return "marginal";
    case GaugeFitness::unfit: return "unfit";
    case GaugeFitness::cannot: return "cannot-decide";
    case GaugeFitness::undecided: return "undecided";
  }
  return {};
}

constexpr std::string_view word_of(PlanMethod value) noexcept {
  switch (value) {
    case PlanMethod::fields: return "fields";
    case PlanMethod::scattered: return "scattered";
  }
  return {};
}

constexpr std::string_view word_of(Lane value) noexcept {
  switch (value) {
    case Lane::left: return "left";
    case Lane::centre: return "centre";
    case Lane::right: return "right";
  }
  return {};
}

}  // namespace sievecloth

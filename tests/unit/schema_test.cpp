// property: docs/assessment.schema.json lists every word that an assessment can contain, and no other
#include <set>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include "base/enumerators.hpp"
#include "diagnosis/names.hpp"
#include "judgement/names.hpp"
#include "measurement/names.hpp"
#include "standards/names.hpp"

namespace sievecloth {
namespace {

template <class Enum>
std::set<std::string> words() {
  std::set<std::string> all;
  for (std::size_t i = 0; i < enumerator_count<Enum>(); ++i) all.insert(std::string(word_of(static_cast<Enum>(i))));
  return all;
}

// JSON is YAML too.
std::set<std::string> listed(const YAML::Node& schema) {
  std::set<std::string> all;
  for (const YAML::Node& word : schema["enum"]) {
    if (!word.IsNull()) all.insert(word.as<std::string>());
  }
  return all;
}

TEST(Schema, KnowsEveryWord) {
  const YAML::Node schema = YAML::LoadFile(SIEVECLOTH_TABLES "/../docs/assessment.schema.json");
  const YAML::Node document = schema["properties"], parts = schema["$defs"];
  const YAML::Node criterion = parts["criterion"]["properties"], ground = parts["ground"]["properties"];
  const YAML::Node warning = document["warnings"]["items"]["properties"], sign = parts["sign"]["properties"];
  EXPECT_EQ(listed(document["verdict"]), words<Verdict>());
  EXPECT_EQ(listed(document["grade"]), words<Grade>());
  EXPECT_EQ(listed(warning["kind"]), words<Warning::Kind>());
  EXPECT_EQ(listed(criterion["id"]), words<CriterionId>());
  EXPECT_EQ(listed(criterion["direction"]), words<Direction>());
  EXPECT_EQ(listed(criterion["outcome"]), words<Outcome>());
  EXPECT_EQ(listed(criterion["reasons"]["items"]), words<Reason>());
  EXPECT_EQ(listed(ground["of"]), words<Ground::Kind>());
  EXPECT_EQ(listed(sign["kind"]), words<SignKind>());
  EXPECT_EQ(listed(sign["not_tested"]), words<NotTested>());
  std::set<std::string> provenances = words<Provenance>();
  provenances.insert("not known");
  EXPECT_EQ(listed(ground["provenance"]), provenances);
  std::set<std::string> rules = words<DecisionRule>();
  rules.erase("simple-acceptance");  // which is not printed
  EXPECT_EQ(listed(document["decision_rule"]), rules);
}

}  // namespace
}  // namespace sievecloth

// The core of sievecloth: sizes, readings, verdicts.
#pragma once

#include "sievecloth/assessment.hpp"
#include "sievecloth/check.hpp"
#include "sievecloth/edition.hpp"
#include "sievecloth/inspector.hpp"
#include "sievecloth/length.hpp"
#include "sievecloth/readings_csv.hpp"
#include "sievecloth/result.hpp"
#include "sievecloth/sample.hpp"
#include "sievecloth/specification.hpp"
#include "sievecloth/summary.hpp"
#include "sievecloth/version.hpp"

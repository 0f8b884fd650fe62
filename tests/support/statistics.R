# A second opinion: prints the numbers that tests compare with. No test runs R.
#   Rscript tests/support/statistics.R tests/data/reference > tests/data/second_opinion.csv
# Needs Debian's r-base-core and r-cran-nortest.
library(nortest)
folder <- commandArgs(trailingOnly = TRUE)[1]
say <- function(name, ...) cat(paste(c(name, sprintf("%.12g", c(...))), collapse = ","), "\n", sep = "")
read <- function(file, skip) read.table(file.path(folder, file), skip = skip)$V1

zarr <- read("ZARR13.DAT", 25)
gear <- read("GEAR.DAT", 25)
mich <- read("MICHELSO.DAT", 25)
for (set in list(list("ZARR13", zarr), list("GEAR", gear), list("MICHELSO", mich))) {
  test <- ad.test(set[[2]])
  say(paste0("anderson_darling ", set[[1]]), unname(test$statistic), test$p.value)
}

# Clopper and Pearson, one-sided
for (k in c(0, 1, 3, 10)) for (n in c(20, 100, 1000)) say(sprintf("share_upper_bound %d %d", k, n), qbeta(0.95, k + 1, n - k))

# hypergeometric: greatest number in the lot not ruled out at 5 %
for (case in list(c(0, 30, 100), c(2, 50, 400), c(1, 200, 1000))) {
  k <- case[1]; n <- case[2]; total <- case[3]
  lots <- k:(total - n + k)
  say(sprintf("number_upper_bound %d %d %d", k, n, total), max(lots[phyper(k, lots, total - lots, n) > 0.05]))
}

# plane through values: F of a linear model
i <- seq_along(gear)
x <- i %% 10; y <- i %/% 10
fit <- summary(lm(gear ~ x + y))
say("drift GEAR", unname(fit$fstatistic["value"]), coef(fit)["x", 1], coef(fit)["y", 1])

# Welch
half <- t.test(gear[1:40], gear[41:100])
say("welch GEAR", unname(half$statistic), unname(half$parameter), half$p.value)

# two-way analysis of variance with interaction, the measurement systems set
A <- "0.29 -0.56 1.34 0.47 -0.80 0.02 0.59 -0.31 2.26 -1.36 0.41 -0.68 1.17 0.50 -0.92 -0.11 0.75 -0.20 1.99 -1.25 0.64 -0.58 1.27 0.64 -0.84 -0.21 0.66 -0.17 2.01 -1.31"
B <- "0.08 -0.47 1.19 0.01 -0.56 -0.20 0.47 -0.63 1.80 -1.68 0.25 -1.22 0.94 1.03 -1.20 0.22 0.55 0.08 2.12 -1.62 0.07 -0.68 1.34 0.20 -1.28 0.06 0.83 -0.34 2.19 -1.50"
C <- "0.04 -1.38 0.88 0.14 -1.46 -0.29 0.02 -0.46 1.77 -1.49 -0.11 -1.13 1.09 0.20 -1.07 -0.67 0.01 -0.56 1.45 -1.77 -0.15 -0.96 0.67 0.11 -1.45 -0.49 0.21 -0.49 1.87 -2.16"
value <- as.numeric(unlist(strsplit(c(A, B, C), " ")))
part <- factor(rep(rep(1:10, 3), 3)); operator <- factor(rep(1:3, each = 30))
table <- anova(lm(value ~ part * operator))
say("gauge squares", table[["Sum Sq"]])
say("gauge interaction p", table[["Pr(>F)"]][3])

# generalized extreme studentized deviates: statistic and critical value, taking one value out after the other
left <- read("ROSNER.DAT", 25)
steps <- c()
for (i in 1:10) {
  n <- length(left)
  deviates <- abs(left - mean(left)) / sd(left)
  t <- qt(1 - 0.05 / (2 * n), n - 2)
  steps <- c(steps, max(deviates), (n - 1) * t / sqrt((n - 2 + t^2) * n))
  left <- left[-which.max(deviates)]
}
say("extreme_deviates ROSNER", steps)

# two-way analysis of variance of the resistivity study: wafers read with five probes, twelve times each
study <- read.table(file.path(folder, "MPC61.DAT"), skip = 50)
table <- anova(lm(V8 ~ factor(V2) * factor(V3), data = study))
say("gauge MPC61 squares", table[["Sum Sq"]])
say("gauge MPC61 freedom", table[["Df"]])

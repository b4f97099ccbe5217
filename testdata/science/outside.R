# What R says of the random data that the science check hands over in FOLDER:
#   Rscript outside.R FOLDER
# Reads runs.csv (set,reps,caught), lines.csv (set,x,y), tallies.csv
# (reps,catches,reps2,catches2) and million.csv (reps,caught); writes one file of
# results for each, all numbers in full precision.
suppressPackageStartupMessages(library(survival))
folder <- commandArgs(trailingOnly = TRUE)[1]
read <- function(name) read.csv(file.path(folder, name))
save <- function(rows, name) {
  rows[] <- lapply(rows, function(v) if (is.numeric(v)) sprintf("%.17g", v) else v)
  write.csv(rows, file.path(folder, name), row.names = FALSE, quote = FALSE)
}

fitted <- function(runs) survfit(Surv(reps, caught) ~ 1, data = runs, conf.type = "log-log")
curve <- function(fit) {
  data.frame(reps = fit$time, at_risk = fit$n.risk, caught = fit$n.event, s = fit$surv,
    se = fit$surv * fit$std.err, low = fit$lower, high = fit$upper)
}
runs <- read("runs.csv")
sets <- split(runs, runs$set)
save(do.call(rbind, lapply(names(sets), function(k) cbind(set = k, curve(fitted(sets[[k]]))))), "runs.out")

lines <- read("lines.csv")
save(do.call(rbind, lapply(split(lines, lines$set), function(d) {
  fit <- summary(lm(y ~ x, data = d))
  k <- fit$coefficients
  data.frame(set = d$set[1], slope = k[2, 1], intercept = k[1, 1], se_slope = k[2, 2],
    se_intercept = k[1, 2], residual_sd = fit$sigma, r2 = fit$r.squared)
})), "lines.out")

tallies <- read("tallies.csv")
save(data.frame(
  low = qbeta(.025, tallies$catches + .5, tallies$reps + .5),
  high = qbeta(.975, tallies$catches + .5, tallies$reps + .5),
  fisher = mapply(function(a, b, c, d) fisher.test(matrix(c(a, b, c, d), 2))$p.value,
    tallies$catches, tallies$reps, tallies$catches2, tallies$reps2)
), "tallies.out")

million <- read("million.csv")
seconds <- replicate(3, system.time(fitted(million))[["elapsed"]])
save(curve(fitted(million)), "million.out")
save(data.frame(seconds = median(seconds)), "seconds.out")
cat(R.version.string, ", survival ", as.character(packageVersion("survival")), "\n", sep = "")

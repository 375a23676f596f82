# Data sets and values from R to hold the life fits against; writes into tests/reference:
#
#     Rscript tests/studies/reference_values.R tests/reference
#
# Debian 12: r-base-core 4.2.2, r-cran-survival 3.5-3, r-cran-kmsurv 0.1-5, r-cran-npsurv 0.5-0.
# Writes the record files named below, r_weibull.csv and r_curves.csv. Nothing here uses the
# package under test. Without late entry, maximum and interval of the shape are survreg's; for
# late entry, which survreg does not take, and for scale and B10, the likelihood is written out
# from R's own Weibull distribution (pweibull, dweibull) and profiled by optimize and uniroot.

suppressPackageStartupMessages({
  library(survival)
  library(npsurv)
})
folder <- commandArgs(trailingOnly = TRUE)[1]
half <- qchisq(0.95, 1) / 2

# --- the data ------------------------------------------------------------------------------

# one row: failed in (from, to], at `to` where both are equal, or still well at `from` (to Inf)
parts <- function(from, to, entry = 0, count = 1) data.frame(from, to, entry, count)
some <- function(d) d[d$count > 0, ]

turbine_wheels <- with(survival::turbine, some(rbind(
  parts(0, hours, count = failed), parts(hours, Inf, count = inspected - failed)
)))
part_cracks <- with(survival::cracks, rbind(
  parts(c(0, head(days, -1)), days, count = fail), parts(max(days), Inf, count = 167 - sum(fail))
))
data(cancer, package = "npsurv", envir = environment())
breast <- function(group) with(cancer[cancer$group == group, ], parts(L, R))
data(channing, package = "KMsurv", envir = environment())
house <- function(gender) {
  d <- channing[channing$gender == gender & channing$age > channing$ageentry, ]
  parts(d$age, ifelse(d$death == 1, d$age, Inf), d$ageentry)
}
data(psych, package = "KMsurv", envir = environment())
psychiatric <- with(psych, parts(age + time, ifelse(death == 1, age + time, Inf), age))
# from memory: Meeker & Escobar 1998, figure 1.7: tubes found cracked at yearly inspections
heat_exchanger <- rbind(
  parts(0, 1, count = 4), parts(1, 2, count = 5), parts(2, 3, count = 2),
  parts(1, Inf, count = 99), parts(2, Inf, count = 95), parts(3, Inf, count = 95)
)

sets <- list(
  turbine_wheels = turbine_wheels,
  part_cracks = part_cracks,
  heat_exchanger = heat_exchanger,
  breast_radiation = breast("RT"),
  breast_chemotherapy = breast("RCT"),
  channing_men = house(1),
  channing_women = house(2),
  psychiatric = psychiatric
)

# --- the Weibull ---------------------------------------------------------------------------

loglik <- function(d, b, n) {
  exact <- d$from == d$to
  value <- numeric(nrow(d))
  value[exact] <- dweibull(d$to[exact], b, n, log = TRUE)
  upper <- pweibull(d$from, b, n, lower.tail = FALSE, log.p = TRUE)
  lower <- pweibull(d$to, b, n, lower.tail = FALSE, log.p = TRUE)
  value[!exact] <- (upper + log1p(-exp(lower - upper)))[!exact]
  sum(d$count * (value - pweibull(d$entry, b, n, lower.tail = FALSE, log.p = TRUE)))
}

# ends of {psi: top - profile(psi) <= half}; profile over `u` on the interval `across`
ends <- function(top, best, profile) {
  fall <- function(psi) top - profile(psi) - half
  low <- uniroot(fall, c(best - 3, best), extendInt = "downX", tol = 1e-11)$root
  high <- uniroot(fall, c(best, best + 3), extendInt = "upX", tol = 1e-11)$root
  exp(c(low, high))
}
best_along <- function(f, centre, width) {
  optimize(f, centre + c(-width, width), maximum = TRUE, tol = 1e-10)$objective
}

weibull <- function(name, d) {
  late <- any(d$entry > 0)
  if (late) {
    rough <- function(p) -loglik(d, exp(p[1]), exp(p[2]))
    p <- c(log(3), log(max(d$from)))
    for (i in 1:6) p <- optim(p, rough, control = list(reltol = 1e-15, maxit = 5000))$par
    b <- exp(p[1]); n <- exp(p[2]); top <- -rough(p)
  } else {
    response <- Surv(ifelse(d$from == 0, NA, d$from), ifelse(is.finite(d$to), d$to, NA),
                     type = "interval2")
    control <- survreg.control(rel.tolerance = 1e-12, maxiter = 200)
    f <- survreg(response ~ 1, weights = d$count, dist = "weibull", control = control)
    b <- 1 / f$scale; n <- exp(unname(coef(f))); top <- f$loglik[1]
    stopifnot(abs(top - loglik(d, b, n)) < 1e-8)
  }
  at_shape <- function(log_b) {
    if (late) best_along(function(u) loglik(d, exp(log_b), exp(u)), log(n), 3)
    else survreg(response ~ 1, weights = d$count, dist = "weibull", scale = exp(-log_b),
                 control = survreg.control(rel.tolerance = 1e-10))$loglik[1]
  }
  at_life <- function(p) function(log_life) best_along(
    function(u) loglik(d, exp(u), exp(log_life) / (-log1p(-p))^exp(-u)), log(b), 2.5)
  # the chance of failing in the third quarter of the greatest age, half of it survived
  at <- max(d$from) / 2
  ahead <- at / 2
  at_hazard <- function(log_h) best_along(function(u) {
    b <- exp(u)
    loglik(d, b, at * ((1 + ahead / at)^b - 1)^(1 / b) / exp(log_h / b))
  }, log(b), 2.5)
  hazard <- ((at + ahead) / n)^b - (at / n)^b
  chance <- -expm1(-c(hazard, ends(top, log(hazard), at_hazard)))
  b10 <- n * (-log(0.9))^(1 / b)
  shape <- ends(top, log(b), at_shape)
  scale <- ends(top, log(n), at_life(1 - exp(-1)))
  tenth <- ends(top, log(b10), at_life(0.1))
  data.frame(set = name, by = if (late) "pweibull" else "survreg", parts = sum(d$count),
             failures = sum(d$count[is.finite(d$to)]), loglik = top,
             shape = b, shape_low = shape[1], shape_high = shape[2],
             scale = n, scale_low = scale[1], scale_high = scale[2],
             b10 = b10, b10_low = tenth[1], b10_high = tenth[2],
             at = at, ahead = ahead,
             chance = chance[1], chance_low = chance[2], chance_high = chance[3])
}

# --- the curve without a distribution ------------------------------------------------------

curve <- function(name, d) {
  if (any(d$from == d$to)) {
    died <- unique(d$to[is.finite(d$to)])
    watched <- sapply(died, function(age) any(d$entry < age & d$from > age))
    later <- sapply(died, function(age) any(d$entry >= age))
    gone <- died[!watched & later]  # all who were watched died, and others came after them
    if (length(gone) > 0) d <- d[d$entry >= max(gone), ]
    f <- summary(survfit(Surv(entry, from, is.finite(to)) ~ 1, data = d, weights = count,
                         conf.type = "log-log", conf.int = 0.9))
    data.frame(set = name, by = "survfit", since = f$time, age = f$time, failed = 1 - f$surv,
               low = 1 - f$upper, high = 1 - f$lower)
  } else {
    f <- npsurv(cbind(d$from, d$to), w = d$count, maxit = 1000, tol = 1e-14)$f
    rises <- f$p > 1e-9 & is.finite(f$right)
    data.frame(set = name, by = "npsurv", since = f$left[rises], age = f$right[rises],
               failed = cumsum(f$p)[rises], low = NA, high = NA)
  }
}

# --- writing -------------------------------------------------------------------------------

for (name in names(sets)) {
  d <- sets[[name]]
  failed <- is.finite(d$to)
  rows <- data.frame(
    age = ifelse(failed, d$to, d$from),
    outcome = ifelse(failed, "failed", "running"),
    age_from = ifelse(failed & d$from < d$to, d$from, NA),
    entered_at = d$entry,
    count = d$count
  )
  write.csv(rows, file.path(folder, paste0(name, ".csv")), row.names = FALSE, quote = FALSE,
            na = "")
}
digits <- function(table) {
  numbers <- sapply(table, is.numeric)
  table[numbers] <- lapply(table[numbers], function(x) ifelse(is.na(x), "", sprintf("%.10g", x)))
  table
}
write.csv(digits(do.call(rbind, Map(weibull, names(sets), sets))),
          file.path(folder, "r_weibull.csv"), row.names = FALSE, quote = FALSE)
write.csv(digits(do.call(rbind, Map(curve, names(sets), sets))),
          file.path(folder, "r_curves.csv"), row.names = FALSE, quote = FALSE)
cat(R.version.string, "; survival", as.character(packageVersion("survival")), "; npsurv",
    as.character(packageVersion("npsurv")), "; KMsurv", as.character(packageVersion("KMsurv")), "\n")

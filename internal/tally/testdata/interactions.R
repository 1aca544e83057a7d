# Two published factorial experiments, as R carries them, fitted by R's lm with
# treatment contrasts, which count each level from its factor's first.
#
#   warpbreaks: L. H. C. Tippett, Technological Applications of Statistics (1950)
#   npk:        W. N. Venables, B. D. Ripley, Modern Applied Statistics with S (2002),
#               peas in six blocks; N:P:K is confounded with the blocks
#
# Writes interactions.json. Needs Debian's r-base-core: Rscript interactions.R
num <- function(x) paste0("[", paste(ifelse(is.na(x), "null", sprintf("%.17g", x)), collapse = ", "), "]")
txt <- function(x) paste0("[", paste0('"', x, '"', collapse = ", "), "]")
one <- function(name, formula, data, y, factors) {
  m <- lm(formula, data)
  cf <- coef(m)
  se <- sqrt(diag(vcov(m, complete = TRUE)))
  levels <- sapply(factors, function(f) paste0('"', f, '": ', txt(levels(data[[f]]))))
  runs <- sapply(factors, function(f) paste0('"', f, '": ', txt(as.character(data[[f]]))))
  paste0('  "', name, '": {\n   "factors": ', txt(factors), ',\n   "levels": {', paste(levels, collapse = ", "),
    "},\n   \"runs\": {", paste(runs, collapse = ",\n    "), "},\n   \"y\": ", num(data[[y]]),
    ',\n   "sigma": ', sprintf("%.17g", summary(m)$sigma), ', "dof": ', m$df.residual,
    ',\n   "names": ', txt(names(cf)), ',\n   "coef": ', num(cf), ',\n   "se": ', num(se), "\n  }")
}
out <- paste0('{\n "source": "', R.version.string, ': lm; script interactions.R beside this file",\n "examples": {\n',
  one("warpbreaks", breaks ~ wool * tension, warpbreaks, "breaks", c("wool", "tension")), ",\n",
  one("npk", yield ~ block + N * P * K, { d <- npk; for (f in c("block", "N", "P", "K")) contrasts(d[[f]]) <- "contr.treatment"; d },
    "yield", c("block", "N", "P", "K")), "\n }\n}\n")
writeLines(out, "interactions.json", sep = "")

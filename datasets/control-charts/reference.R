# Values that the tests compare with, from R 4.2.2 with the packages spc 0.6.7, nortest 1.0.4 and strucchange 1.5.3.
# Run as: Rscript reference.R
suppressMessages({library(spc); library(nortest); library(strucchange)})
options(digits = 10)
flow <- c(49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
for (x in list(flow, exp(c(flow - 50) / 2), faithful$eruptions)) { a <- ad.test(x); print(c(a$statistic, a$p.value)) }
print(acf(Nile, plot = FALSE)$acf[2])
print(breakdates(breakpoints(Nile ~ 1, breaks = 1)))
print(c(xewma.arl(0.2, 2.86, 0, sided = "two", limits = "vacl"), xewma.arl(0.2, 2.86, 1, sided = "two", limits = "vacl")))
print(xcusum.arl(0.5, 5, c(0), sided = "two")); print(xcusum.arl(0.5, 5, 1, sided = "two"))
print(c(tol.lim.fac(43, .9, .01), tol.lim.fac(30, .9, .05)))
write.csv(data.frame(year = 1871:1970, flow = as.numeric(Nile)), "nile.csv", row.names = FALSE, quote = FALSE)

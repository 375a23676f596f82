"""Life of the part: what the records say about the age at which it fails.

One latent life T ~ Weibull(shape, scale). `likelihood` weighs the records, `fit` gives the
maximum-likelihood estimates of the literature, `posterior` the curves that decisions use.
"""

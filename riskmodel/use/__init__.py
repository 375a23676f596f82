"""How it was driven: from kinds of use to effective age and the ageing ahead.

`kinds` lists hard uses, `mix` how fast a mix of them ages a part, `nodes` what is not known of
that, `effective_age` joins these for one engine, `aged` puts it beside the life curves, `ahead`
changes habits, `questions` asks for shares in plain words, `learned` takes harshness from the
records, `parts_of_spread` tells where the uncertainty comes from.
"""

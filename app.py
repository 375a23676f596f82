"""The page. Start it with: streamlit run app.py"""

from riskmodel.page import main

main()

from tizzone import app

app.run()

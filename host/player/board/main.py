from player import play

play.run()
